/** The tab about the whole range: a fault along each slider, pairs of sliders, and clearance. Hovering shows that shape. */

import type { Context } from "../../context.ts";
import { nameOf } from "../../naming.ts";
import { h, replaceKeepingFocus } from "../../dom.ts";
import type { About } from "../../data/about.ts";
import { clearanceChart } from "../charts/histogram.ts";
import { curveChart } from "../charts/curves.ts";
import { heatmap } from "../charts/heatmap.ts";
import { faultWords, unitOf } from "../../fault_words.ts";
import { stillJoints } from "../../state.ts";
import { faultAlong } from "../charts/profile.ts";

export function makeRangeTab(context: Context): HTMLElement {
  const { store } = context;
  const element = h("div.range-tab");
  let chosen: string | null = null;
  let kept: readonly number[] | null = null;

  /** Show a shape while the pointer is over it, and what was there before afterwards. */
  const peek = (moved: readonly (readonly [number, number])[] | null) => {
    if (!moved) {
      if (kept) store.set({ weights: kept });
      kept = null;
      return;
    }
    kept ??= store.now.weights;
    store.set({ weights: only(store.now.about, moved) });
  };
  const stay = (moved: readonly (readonly [number, number])[]) => {
    kept = null;
    store.set({ weights: only(store.now.about, moved), joints: stillJoints(store.now.about), pose: null });
  };

  let laid = "";
  const lay = () => {
    const { about, focus, layer } = store.now;
    const charts = about.charts[focus];
    const shown = JSON.stringify([focus, chosen, charts && faultAlong(charts, layer), about.check.state, charts]);
    if (shown === laid) return; // what a person points at stays under the pointer
    laid = shown;
    const curves = Object.values(charts?.weights ?? {});
    const faults = Object.keys(curves[0]?.values ?? {});
    if (!charts || !faults.length) {
      replaceKeepingFocus(element, h("p.empty", {}, about.check.state === "running" ? "The range is being checked." : about.shapes.length ? `No fault of ${nameOf(about, focus) || "this garment"} grows along any slider.` : "The range has not been checked yet."));
      if (charts?.clearance) element.append(clearanceChart(charts.clearance));
      return;
    }
    const fault = chosen && faults.includes(chosen) ? chosen : faultAlong(charts, layer)!;
    const choice = h<HTMLSelectElement>("select", { "aria-label": "Fault in the chart" }, faults.map((name) =>
      h("option", { value: name, selected: name === fault }, faultWords(about, name))));
    choice.addEventListener("change", () => {
      chosen = choice.value;
      lay();
    });
    replaceKeepingFocus(
      element,
      h("h2.tab-title", {}, nameOf(about, focus)),
      choice,
      curveChart(about, charts, fault, unitOf(about, fault), faultWords(about, fault), {
        hover: (at) => peek(at && [[at.slider, at.weight]]),
        choose: (at) => stay([[at.slider, at.weight]]),
      }),
      charts.pairs && heatmap(about, charts.pairs, faultWords(about, charts.pairs.fault), {
        hover: (pair) => peek(pair && [[pair.sliders[0], pair.weights[0]], [pair.sliders[1], pair.weights[1]]]),
        choose: (pair) => stay([[pair.sliders[0], pair.weights[0]], [pair.sliders[1], pair.weights[1]]]),
      }),
      charts.clearance && clearanceChart(charts.clearance),
    );
  };
  store.watch(["about", "focus", "layer"], lay);
  store.watch(["isConnected"], ({ isConnected }) => (element.inert = !isConnected));
  return element;
}

/** The base body with these sliders moved. */
function only(about: About, moved: readonly (readonly [number, number])[]): number[] {
  const weights = about.sliders.map(() => 0);
  for (const [slider, weight] of moved) weights[slider] = weight;
  return weights;
}
