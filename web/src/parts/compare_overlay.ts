/** Over a comparison: the names of the two sides, and the handle of the wipe. */

import type { Context } from "../context.ts";
import { h } from "../dom.ts";
import { nameOf } from "../naming.ts";

const HALF = 0.5;
const STEP = 0.02;

export function makeCompareOverlay(context: Context, margin: () => number): HTMLElement {
  const left = h("span.side-name.a"), right = h("span.side-name.b");
  const handle = h("div.wipe", { role: "slider", tabindex: 0, "aria-label": "Where the wipe stands", "aria-valuemin": 0, "aria-valuemax": 100 });
  const overlay = h("div.compare-overlay", {}, left, right, handle);
  const set = (at: number) => {
    const { comparison } = context.store.now;
    if (comparison) context.store.set({ comparison: { ...comparison, at: Math.min(1, Math.max(0, at)) } });
  };
  handle.addEventListener("pointerdown", (event) => handle.setPointerCapture(event.pointerId));
  handle.addEventListener("pointermove", (event) => {
    if (!handle.hasPointerCapture(event.pointerId)) return;
    const box = overlay.getBoundingClientRect();
    set((event.clientX - box.left - margin()) / (box.width - 2 * margin()));
  });
  handle.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -STEP, ArrowRight: STEP, Home: -1, End: 1 }[event.key];
    if (step === undefined) return;
    event.preventDefault();
    set((context.store.now.comparison?.at ?? HALF) + step);
  });
  context.store.watch(["comparison", "about"], ({ comparison, about }) => {
    overlay.hidden = !comparison;
    if (!comparison) return;
    left.textContent = nameOf(about, comparison.a);
    right.textContent = nameOf(about, comparison.b);
    handle.hidden = comparison.mode !== "wipe";
    handle.setAttribute("aria-valuenow", String(Math.round(100 * comparison.at)));
    overlay.style.setProperty("--at", String(comparison.mode === "wipe" ? comparison.at : HALF));
    overlay.style.setProperty("--margin", `${margin()}px`);
  });
  return overlay;
}
