/** Over the list of complaints: which one is open, and the ways to the one before and the next. */

import type { Context } from "../context.ts";
import type { About } from "../data/about.ts";
import { button, h } from "../dom.ts";
import { inOrder, stepComplaint } from "./go_to.ts";

export function makeComplaintSteps(context: Context): HTMLElement {
  const told = h("span.steps-told");
  const back = button("Previous", () => stepComplaint(context, -1), { "aria-label": "Previous complaint" });
  const on = button("Next", () => stepComplaint(context, 1), { "aria-label": "Next complaint" });
  const element = h("div.steps-bar", { role: "group", "aria-label": "One complaint after the other" }, back, told, on);
  context.store.watch(["about", "cluster"], ({ about, cluster }) => {
    element.hidden = !about.clusters.length;
    told.textContent = placeWords(about, cluster);
  });
  return element;
}

/** Which of how many. */
function placeWords(about: About, open: string | null): string {
  const order = inOrder(about);
  const at = order.findIndex(({ id }) => id === open);
  if (at >= 0) return `${at + 1} of ${order.length}`;
  return order.length === 1 ? "one complaint" : `${order.length} complaints`;
}
