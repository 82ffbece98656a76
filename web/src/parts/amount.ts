/** A number by slider and by typing, with its unit. */

import { freshId, h } from "../dom.ts";

export interface Limits {
  readonly low: number;
  readonly high: number;
  readonly step: number;
  readonly unit: string;
}

export function amount(words: string, value: number, { low, high, step, unit }: Limits, changed: (value: number) => void): HTMLElement {
  const id = freshId();
  const limits = { min: low, max: high, step, value };
  const range = h<HTMLInputElement>("input", { type: "range", id, ...limits });
  const number = h<HTMLInputElement>("input", { type: "number", ...limits, "aria-label": `${words}, as a number` });
  range.addEventListener("input", () => {
    number.value = range.value;
    changed(range.valueAsNumber);
  });
  number.addEventListener("change", () => {
    const typed = Math.min(high, Math.max(low, number.valueAsNumber));
    if (Number.isFinite(typed)) {
      range.value = String(typed);
      changed(typed);
    }
    number.value = range.value; // what was typed beyond the limits, or was no number, is seen to be gone
  });
  return h("div.amount", {}, h("label", { for: id }, words), h("span.amount-number", {}, number, unit), range);
}
