/** The legend of the layer that is shown: its scale, what is highest at this shape, and the value under the pointer. */

import type { Context } from "../context.ts";
import type { LayerAbout } from "../data/about.ts";
import { h, replace } from "../dom.ts";
import { css, gradient } from "../draw/colour.ts";
import { inWords, scaleOf, withUnit } from "../draw/scale.ts";
import { layerOf } from "../naming.ts";
import type { State } from "../state.ts";

export interface Legend {
  readonly element: HTMLElement;
  /** Point at a value, or at none. */
  point(value: number | null): void;
}

export function makeLegend(context: Context): Legend {
  const element = h("div.legend", { "aria-label": "Legend", role: "group" });
  const caret = h("div.caret", { hidden: true });
  let shown: LayerAbout | null = null;
  context.store.watch(["layer", "about", "focus", "faults", "isMeasured", "isConnected"], (state) => {
    const { about, layer: name, focus, faults, isMeasured, isConnected } = state;
    shown = layerOf(about, name);
    element.hidden = shown === null;
    if (!shown) return;
    const elsewhere = faults?.measuredAt[focus];
    const measured = !isMeasured ? (isConnected ? "measuring …" : "not measured: the connection is gone") : elsewhere && `measured at ${elsewhere}, the nearest stored shape`;
    replace(
      element,
      h("p.legend-title", {}, shown.label, shown.unit && h("span.unit", {}, ` in ${shown.unit}`)),
      shown.kind === "classes" ? classes(shown) : bar(shown, caret, { highest: highestOf(state, shown), at: elsewhere ?? "this shape" }),
      h("p.meaning", {}, shown.meaning),
      measured && h("p.stale", {}, measured),
    );
  });
  return {
    element,
    point(value) {
      caret.hidden = value === null || !shown || shown.kind === "classes";
      if (value === null || !shown) return;
      const share = (value - shown.low) / (shown.high - shown.low);
      caret.style.left = `${100 * Math.min(1, Math.max(0, share))}%`;
      caret.dataset.value = inWords(shown, value);
    },
  };
}

/** The value farthest from nothing on the garment that is looked at, or null while nothing is measured. */
export function highestOf({ faults, isMeasured, focus }: Pick<State, "faults" | "isMeasured" | "focus">, { name }: Pick<LayerAbout, "name">): number | null {
  const values = isMeasured ? faults?.layers.get(`${name}/${focus}`) : undefined;
  if (!values?.length) return null;
  let most = 0;
  for (const value of values) if (Math.abs(value) > Math.abs(most)) most = value; // what has no value is passed over
  return most;
}

function bar(layer: LayerAbout, caret: HTMLElement, { highest, at }: { highest: number | null; at: string }): HTMLElement {
  const { low, high, unit } = layer;
  const ends = [low, (low + high) / 2, high];
  const share = highest === null ? 0 : Math.min(1, Math.max(0, (highest - low) / (high - low)));
  return h(
    "div.bar",
    {},
    h("div.ramp", { style: `background:${gradient(scaleOf(layer).stops)}` }, highest !== null && h("div.highest", { style: `left:${100 * share}%` }), caret),
    h("div.ends", {}, ends.map((value) => h("span", {}, withUnit(value, "", high - low)))),
    h("span.sr", {}, `from ${low} to ${high} ${unit}`),
    highest !== null && h("p.highest-words", {}, `${layer.kind === "diverging" ? "Farthest from 0" : "Highest"} at ${at}: `, h("b", {}, inWords(layer, highest))),
  );
}

function classes(layer: LayerAbout): HTMLElement {
  const { stops } = scaleOf(layer);
  return h("ul.classes", {}, (layer.classes ?? []).map((words, i) =>
    h("li", {}, h("span.swatch", { style: `background:${css(stops[i])}` }), words)));
}
