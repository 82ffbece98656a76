/** The sliders: one tape per morph, and per slider that moves joints, laid in two margins by where on the body it acts. */

import { freshId, h } from "../dom.ts";
import type { Context } from "../context.ts";
import { spaced } from "../naming.ts";
import type { State } from "../state.ts";
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
  const left = h("div.margin.left"), right = h("div.margin.right");
  const controls = controlsOf(context);
  const rows = controls.map((control, k) => makeRow(context, control, k));
  const sides = laidOut(controls);
  const many = controls.length > MANY;
  for (const margin of [left, right]) margin.classList.toggle("many", many);
  const find = many ? makeFind(controls, rows) : null;
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

/** What a row moves. */
interface Control {
  readonly name: string;
  readonly low: number;
  readonly high: number;
  readonly position_m: readonly number[];
  readonly isJoint: boolean;
  now(state: State): number;
  set(value: number): void;
}

/** The morphs first, then the sliders that move joints: the order in which an engine applies them. */
function controlsOf({ store }: Context): Control[] {
  const { sliders, joint_sliders: joints } = store.now.about;
  return [
    ...sliders.map((one, k) => ({ ...one, isJoint: false, now: ({ weights }: State) => weights[k], set: (value: number) => store.setWeight(k, value) })),
    ...joints.map((one, k) => ({ ...one, isJoint: true, now: (state: State) => state.joints[k], set: (value: number) => store.setJoint(k, value) })),
  ];
}

/** Which slider stands in which margin: from the head down, in turn left and right, so that threads hardly cross. */
export function laidOut(controls: readonly Pick<Control, "position_m">[]): { left: number[]; right: number[] } {
  const height = (k: number) => controls[k].position_m[1];
  const order = controls.map((_, k) => k).sort((a, b) => height(b) - height(a));
  return { left: order.filter((_, i) => i % 2 === 0), right: order.filter((_, i) => i % 2 === 1) };
}

function makeRow(context: Context, control: Control, index: number): HTMLElement {
  const { store } = context;
  const { name, low, high, isJoint } = control;
  const id = freshId();
  const limits = { min: low, max: high, step: STEP };
  const range = h<HTMLInputElement>("input", { type: "range", id, ...limits, "aria-label": name });
  const number = h<HTMLInputElement>("input", { type: "number", ...limits, "aria-label": `${name}, as a number` });
  const profile = h<HTMLCanvasElement>("canvas.profile", { "aria-hidden": "true" });
  const limit = h("p.limit", { role: "status" });
  const row = h(
    "div.slider",
    { "data-slider": name, ...(isJoint && { title: "Moves joints, after the morphs" }) },
    h("div.slider-head", {}, h("label", { for: id }, spaced(name)), number),
    h("div.tape", { style: `--base:${place(0, low, high)};--ticks:${ticks(low, high)}` }, range),
    profile, // empty where nothing is charted, so that all rows are as high
    limit,
  );
  range.addEventListener("input", () => control.set(range.valueAsNumber));
  range.addEventListener("dblclick", () => control.set(clamped(0, low, high)));
  number.addEventListener("change", () => {
    const typed = number.valueAsNumber;
    if (Number.isFinite(typed)) control.set(clamped(typed, low, high));
    number.value = shown(control.now(store.now));
    const isBeyond = typed < low || typed > high;
    limit.textContent = isBeyond ? `The range is ${shown(low)} to ${shown(high)}.` : "";
    clearTimeout(timer);
    if (isBeyond) timer = window.setTimeout(() => (limit.textContent = ""), SAID_MS);
  });
  number.addEventListener("blur", () => (number.value = shown(control.now(store.now))));
  let timer = 0;
  const point = (slider: number | null) => () => store.set({ slider });
  row.addEventListener("pointerenter", point(index));
  row.addEventListener("pointerleave", point(null));
  row.addEventListener("focusin", point(index));
  row.addEventListener("focusout", point(null));

  const show = () => {
    const weight = control.now(store.now);
    range.value = String(weight);
    if (document.activeElement !== number) number.value = shown(weight);
    row.style.setProperty("--at", String(place(weight, low, high)));
    row.classList.toggle("moved", Math.abs(weight) >= STEP / 2);
  };
  store.watch(["weights", "joints"], (state, before) => {
    if (state === before || control.now(state) !== control.now(before)) show();
  });
  if (isJoint) return row; // no chart follows a joint
  const redraw = () => drawProfile(profile, profileOf(store.now, name), { low, high });
  store.on(["about", "focus", "layer"], redraw);
  new ResizeObserver(redraw).observe(profile);
  return row;
}

function makeFind(controls: readonly Control[], rows: readonly HTMLElement[]): HTMLElement {
  const field = h<HTMLInputElement>("input", { type: "search", placeholder: "Find a slider", "aria-label": "Find a slider" });
  field.addEventListener("input", () => {
    const wanted = field.value.trim().toLowerCase();
    rows.forEach((row, k) => (row.hidden = !controls[k].name.toLowerCase().includes(wanted)));
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
