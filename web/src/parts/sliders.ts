/** The sliders: one tape per morph, laid in two margins by where on the body the morph acts, with the fault along it. */

import { freshId, h } from "../dom.ts";
import type { Desk } from "../app/desk.ts";
import type { About } from "../data/about.ts";
import { drawProfile, profileOf } from "./profile.ts";

const STEP = 0.01;
const MANY = 16; // from so many sliders on, a field to find one by its name is offered and rows are close

export interface Sliders {
  readonly left: HTMLElement;
  readonly right: HTMLElement;
  readonly find: HTMLElement | null;
  /** Rows by slider, for threads and for moving them about. */
  readonly rows: readonly HTMLElement[];
  /** Put all rows into one list, or lay them in the two margins. */
  gather(into: HTMLElement | null): void;
}

export function makeSliders(desk: Desk): Sliders {
  const { about } = desk.store.now;
  const left = h("div.margin.left"), right = h("div.margin.right");
  const rows = about.sliders.map((_, k) => makeRow(desk, k));
  const sides = laidOut(about);
  const many = about.sliders.length > MANY;
  for (const margin of [left, right]) margin.classList.toggle("many", many);
  const find = many ? makeFind(about, rows) : null;
  return {
    left,
    right,
    find,
    rows,
    gather(into) {
      if (into) into.append(...rows);
      else {
        left.replaceChildren(...sides.left.map((k) => rows[k]));
        right.replaceChildren(...sides.right.map((k) => rows[k]));
      }
    },
  };
}

/** Which slider stands in which margin: from the head down, in turn left and right, so that threads hardly cross. */
export function laidOut(about: About): { left: number[]; right: number[] } {
  const height = (k: number) => about.sliders[k].position_m[1];
  const order = about.sliders.map((_, k) => k).sort((a, b) => height(b) - height(a));
  return { left: order.filter((_, i) => i % 2 === 0), right: order.filter((_, i) => i % 2 === 1) };
}

function makeRow(desk: Desk, index: number): HTMLElement {
  const { store } = desk;
  const { name, low, high } = store.now.about.sliders[index];
  const id = freshId();
  const limits = { min: low, max: high, step: STEP };
  const range = h<HTMLInputElement>("input", { type: "range", id, ...limits, "aria-label": name });
  const number = h<HTMLInputElement>("input", { type: "number", ...limits, "aria-label": `${name}, as a number` });
  const profile = h<HTMLCanvasElement>("canvas.profile", { "aria-hidden": "true" });
  const row = h(
    "div.slider",
    { "data-slider": name },
    h("div.slider-head", {}, h("label", { for: id }, name.replaceAll("_", " ")), number),
    h("div.tape", { style: `--base:${place(0, low, high)};--ticks:${ticks(low, high)}` }, range),
    profile,
  );
  range.addEventListener("input", () => store.setWeight(index, range.valueAsNumber));
  range.addEventListener("dblclick", () => store.setWeight(index, clamped(0, low, high)));
  number.addEventListener("change", () => {
    const typed = number.valueAsNumber;
    if (Number.isFinite(typed)) store.setWeight(index, clamped(typed, low, high));
    show();
  });
  const point = (slider: number | null) => () => store.set({ slider });
  row.addEventListener("pointerenter", point(index));
  row.addEventListener("pointerleave", point(null));
  row.addEventListener("focusin", point(index));
  row.addEventListener("focusout", point(null));

  const show = () => {
    const weight = store.now.weights[index];
    range.value = String(weight);
    if (document.activeElement !== number) number.value = weight.toFixed(2).replace(/^-(0\.00)$/, "$1");
    row.style.setProperty("--at", String(place(weight, low, high)));
    row.classList.toggle("turned", Math.abs(weight) >= STEP / 2);
  };
  store.watch(["weights"], (state, before) => {
    if (state === before || state.weights[index] !== before.weights[index]) show();
  });
  const redraw = () => drawProfile(profile, profileOf(store.now, name), { low, high });
  store.on(["about", "focus", "layer"], redraw);
  new ResizeObserver(redraw).observe(profile);
  return row;
}

function makeFind(about: About, rows: readonly HTMLElement[]): HTMLElement {
  const field = h<HTMLInputElement>("input", { type: "search", placeholder: "find a slider", "aria-label": "Find a slider" });
  field.addEventListener("input", () => {
    const wanted = field.value.trim().toLowerCase();
    rows.forEach((row, k) => (row.hidden = !about.sliders[k].name.toLowerCase().includes(wanted)));
  });
  return h("div.find", {}, field);
}

function place(weight: number, low: number, high: number): number {
  return high > low ? (weight - low) / (high - low) : 0;
}

/** So many divisions of a quarter weight each. */
function ticks(low: number, high: number): number {
  return Math.min(16, Math.max(1, Math.round((high - low) / 0.25)));
}

function clamped(weight: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, weight));
}
