/** One line under the body: which shape this is, what is wrong with it, and the ways to other shapes. */

import { nameOf, shapeWords, type Desk } from "../app/desk.ts";
import { button, h, replace } from "../dom.ts";
import { garmentOf, SEVERITIES, type Severity } from "../data/about.ts";
import { withUnit } from "../draw/scale.ts";
import type { State } from "../state.ts";
import { faultWords } from "./fault_words.ts";
import { mark, severityWords } from "./marks.ts";

const TOLD = 3;

export function makeVerdict(desk: Desk): HTMLElement {
  const { store } = desk;
  const line = h("p.verdict-line", { "aria-live": "polite" });
  const shape = h("p.verdict-shape");
  store.watch(["weights", "about", "base"], ({ about, weights }) => {
    shape.textContent = `At ${shapeWords(about, weights)}`;
  });
  store.watch(["faults", "isMeasured", "focus", "about"], (state) => replace(line, ...sentence(state, desk.source.isLive)));
  return h("div.verdict", {}, h("div.verdict-words", {}, line, shape), makeWays(desk));
}

function sentence(state: State, isLive: boolean): (Node | string)[] {
  const { about, focus, faults, isMeasured } = state;
  if (!garmentOf(about, focus)) return ["No garment is worn."];
  const name = nameOf(about, focus);
  if (!isMeasured || !faults) return [isLive ? `${name}: measuring …` : name];
  const figures = Object.entries(faults.figures[focus] ?? {});
  const severity = faults.severity[focus] ?? "";
  if (!figures.length) {
    const here = about.clusters.filter((cluster) => cluster.garment === focus && isHere(state, cluster.shape.weights));
    const told = here.slice(0, TOLD).map((cluster) => `${cluster.fault_words} ${withUnit(cluster.place.value, cluster.place.unit)}`);
    if (severity) return [mark(severity), ` ${name}: ${told.join("; ") || `${severityWords(severity)} at this shape`}`];
    const elsewhere = faults.measuredAt[focus];
    return [elsewhere ? `${name}: this shape was not measured; the nearest that was is ${elsewhere}` : name];
  }
  const bad = figures.filter(([, figure]) => figure.severity && figure.severity !== "clean");
  if (!bad.length) return [mark("clean"), ` ${name}: clean at this shape`];
  bad.sort((a, b) => rank(b[1].severity) - rank(a[1].severity));
  const told = bad.slice(0, TOLD).map(([fault, { value, unit }]) => `${faultWords(about, fault)} ${withUnit(value, unit)}`.trim());
  return [mark(severity), ` ${name}: ${told.join("; ")}`];
}

function isHere(state: State, weights: readonly number[]): boolean {
  return weights.every((weight, k) => Math.abs(weight - state.weights[k]) < 1e-6);
}

function rank(severity: Severity): number {
  return SEVERITIES.indexOf(severity);
}

function makeWays(desk: Desk): HTMLElement {
  const { store } = desk;
  const worst = button("Worst shape", () => toWorst(desk), { class: "way" });
  const base = button("Base body", () => store.set({ weights: store.now.about.sliders.map(() => 0), cluster: null, mark: null, pose: null }), { class: "way" });
  const select = h<HTMLSelectElement>("select.way", { "aria-label": "Go to a shape that was looked at" });
  select.addEventListener("change", () => {
    const shape = store.now.about.shapes[Number(select.value)];
    if (shape) store.set({ weights: [...shape.weights], cluster: null });
    select.value = "";
  });
  store.watch(["about", "focus"], ({ about, focus }) => {
    const order = about.shapes.map((shape, i) => ({ shape, i })).sort((a, b) =>
      rank(b.shape.severity[focus] ?? "") - rank(a.shape.severity[focus] ?? ""));
    replace(select, h("option", { value: "" }, "Other shapes"), order.map(({ shape, i }) =>
      h("option", { value: i }, `${severityWords(shape.severity[focus] ?? "")}: ${shape.label}`)));
    select.hidden = !about.shapes.length;
    worst.disabled = worstOf(store.now) === null;
  });
  return h("div.ways", {}, worst, base, select);
}

/** Weights of the worst shape of the garment that is looked at, or null where none was checked. */
export function worstOf({ about, focus }: State): number[] | null {
  const index = garmentOf(about, focus)?.worst;
  if (index !== undefined && index !== null) return about.shapes[index]?.weights ?? null;
  return about.clusters.find((cluster) => cluster.garment === focus)?.shape.weights ?? null;
}

export function toWorst(desk: Desk): void {
  const weights = worstOf(desk.store.now);
  if (weights) desk.store.set({ weights: [...weights], pose: null });
}
