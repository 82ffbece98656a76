/** What is read off the surface: the choice of a layer, and its legend with the value under the pointer. */

import type { Context } from "../context.ts";
import { layerOf } from "../naming.ts";
import { css, gradient } from "../draw/colour.ts";
import { inWords, scaleOf, withUnit } from "../draw/scale.ts";
import { freshId, h, replace } from "../dom.ts";
import type { LayerAbout } from "../data/about.ts";

const NOTHING = "";
const AS_WORN = "as worn";

export function makeLayerChoice(context: Context): HTMLElement {
  const { store } = context;
  const name = freshId();
  const choice = h("div.layers", { role: "radiogroup", "aria-label": "Layer on the surface" });
  store.watch(["about"], ({ about, layer }, before) => {
    if (before !== store.now && before.about.layers === about.layers) return;
    const options = [{ name: NOTHING, label: AS_WORN }, ...about.layers];
    replace(choice, options.map((option) => makeOption(context, name, option, (layer ?? NOTHING) === option.name)));
  });
  store.on(["layer"], ({ layer }) => {
    for (const input of choice.querySelectorAll("input")) input.checked = input.value === (layer ?? NOTHING);
  });
  return choice;
}

function makeOption(context: Context, group: string, option: { name: string; label: string }, checked: boolean): HTMLElement {
  const input = h<HTMLInputElement>("input", { type: "radio", name: group, value: option.name, checked });
  input.addEventListener("change", () => context.store.set({ layer: option.name || null }));
  return h("label.layer", {}, input, h("span", {}, option.label));
}

export interface Legend {
  readonly element: HTMLElement;
  /** Point at a value, or at none. */
  point(value: number | null): void;
}

export function makeLegend(context: Context): Legend {
  const element = h("div.legend", { "aria-label": "Legend", role: "group" });
  const caret = h("div.caret", { hidden: true });
  let shown: LayerAbout | null = null;
  context.store.watch(["layer", "about", "focus", "faults", "isMeasured", "isConnected"], ({ about, layer: name, focus, faults, isMeasured, isConnected }) => {
    shown = layerOf(about, name);
    element.hidden = shown === null;
    if (!shown) return;
    const elsewhere = faults?.measuredAt[focus];
    const measured = !isMeasured ? (isConnected ? "measuring …" : "not measured: the connection is gone") : elsewhere && `measured at ${elsewhere}, the nearest stored shape`;
    replace(
      element,
      h("p.legend-title", {}, shown.label, shown.unit && h("span.unit", {}, ` in ${shown.unit}`)),
      shown.kind === "classes" ? classes(shown) : bar(shown, caret),
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

function bar(layer: LayerAbout, caret: HTMLElement): HTMLElement {
  const { low, high, unit } = layer;
  const ends = [low, (low + high) / 2, high];
  return h(
    "div.bar",
    {},
    h("div.ramp", { style: `background:${gradient(scaleOf(layer).stops)}` }, caret),
    h("div.ends", {}, ends.map((value) => h("span", {}, withUnit(value, "", high - low)))),
    h("span.sr", {}, `from ${low} to ${high} ${unit}`),
  );
}

function classes(layer: LayerAbout): HTMLElement {
  const { stops } = scaleOf(layer);
  return h("ul.classes", {}, (layer.classes ?? []).map((words, i) =>
    h("li", {}, h("span.swatch", { style: `background:${css(stops[i])}` }), words)));
}
