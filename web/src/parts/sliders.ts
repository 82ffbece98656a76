/** The sliders: one tape per morph, laid in two margins by where on the body the morph acts, with the fault along it. */

import { freshId, h } from "../dom.ts";
import type { Context } from "../context.ts";
import { spaced } from "../naming.ts";
import type { About } from "../data/about.ts";
import { drawProfile, profileOf } from "./charts/profile.ts";

const STEP = 0.01;
const SAID_MS = 4000; // so long it is said that a number was beyond the range
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

export function makeSliders(context: Context): Sliders {
  const { about } = context.store.now;
  const left = h("div.margin.left"), right = h("div.margin.right");
  const rows = about.sliders.map((_, k) => makeRow(context, k));
  const sides = laidOut(about);
  const many = about.sliders.length > MANY;
  for (const margin of [left, right]) margin.classList.toggle("many", many);
  const find = many ? makeFind(about, rows) : null;
  context.store.watch(["isConnected"], ({ isConnected }) => {
    for (const row of rows) row.inert = !isConnected; // a slider that moves nothing would mislead
  });
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

function makeRow(context: Context, index: number): HTMLElement {
  const { store } = context;
  const { name, low, high } = store.now.about.sliders[index];
  const id = freshId();
  const limits = { min: low, max: high, step: STEP };
  const range = h<HTMLInputElement>("input", { type: "range", id, ...limits, "aria-label": name });
  const number = h<HTMLInputElement>("input", { type: "number", ...limits, "aria-label": `${name}, as a number` });
  const profile = h<HTMLCanvasElement>("canvas.profile", { "aria-hidden": "true" });
  const limit = h("p.limit", { role: "status" });
  const row = h(
    "div.slider",
    { "data-slider": name },
    h("div.slider-head", {}, h("label", { for: id }, spaced(name)), number),
    h("div.tape", { style: `--base:${place(0, low, high)};--ticks:${ticks(low, high)}` }, range),
    profile,
    limit,
  );
  range.addEventListener("input", () => store.setWeight(index, range.valueAsNumber));
  range.addEventListener("dblclick", () => store.setWeight(index, clamped(0, low, high)));
  number.addEventListener("change", () => {
    const typed = number.valueAsNumber;
    if (Number.isFinite(typed)) store.setWeight(index, clamped(typed, low, high));
    number.value = shown(store.now.weights[index]);
    const isBeyond = typed < low || typed > high;
    limit.textContent = isBeyond ? `The range is ${shown(low)} to ${shown(high)}.` : "";
    clearTimeout(timer);
    if (isBeyond) timer = window.setTimeout(() => (limit.textContent = ""), SAID_MS);
  });
  number.addEventListener("blur", () => (number.value = shown(store.now.weights[index])));
  let timer = 0;
  const point = (slider: number | null) => () => store.set({ slider });
  row.addEventListener("pointerenter", point(index));
  row.addEventListener("pointerleave", point(null));
  row.addEventListener("focusin", point(index));
  row.addEventListener("focusout", point(null));

  const show = () => {
    const weight = store.now.weights[index];
    range.value = String(weight);
    if (document.activeElement !== number) number.value = shown(weight);
    row.style.setProperty("--at", String(place(weight, low, high)));
    row.classList.toggle("moved", Math.abs(weight) >= STEP / 2);
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
  const field = h<HTMLInputElement>("input", { type: "search", placeholder: "Find a slider", "aria-label": "Find a slider" });
  field.addEventListener("input", () => {
    const wanted = field.value.trim().toLowerCase();
    rows.forEach((row, k) => (row.hidden = !about.sliders[k].name.toLowerCase().includes(wanted)));
  });
  return h("div.find", {}, field);
}

/** A weight as its field shows it. */
function shown(weight: number): string {
  return weight.toFixed(2).replace(/^-(0\.00)$/, "$1");
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
