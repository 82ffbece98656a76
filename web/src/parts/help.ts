/** Help: a dialogue that explains keys and words, and the keys themselves. */

import type { Context } from "../context.ts";
import { button, h } from "../dom.ts";
import { goToBase, goToWorst, stepComplaint } from "./go_to.ts";

const KEYS: readonly (readonly [string, string])[] = [
  ["Tab", "next slider, then everything else"],
  ["← →", "on a slider: by 0.01; Page Up and Page Down: by 0.1; Home and End: to the ends"],
  ["arrows", "on the picture: turn; with Shift: move"],
  ["+  −", "on the picture: nearer, farther"],
  ["1 2 3 4", "on the picture: front, left, back, right"],
  ["Home  0", "on the picture: whole body, up close"],
  ["W", "worst shape of the garment"],
  ["B", "base body"],
  ["N  P", "next complaint, previous complaint"],
  ["L", "next layer; with Shift: previous layer"],
  ["?", "this help"],
];

const WORDS: readonly (readonly [string, string])[] = [
  ["base body", "the body with every slider at 0"],
  ["slider", "sets one morph of the body, within the range that a wearer may reach; the coloured edge under it is the fault along it"],
  ["lift", "carries the body's morphs to the cloth"],
  ["clearance", "distance from the skin to the cloth, outward positive"],
  ["ease", "girth of the cloth minus girth of the body at one height"],
  ["pucker", "how rough the cloth has become within 3 cm; 0 is smooth"],
  ["certified", "proven at every shape of the range; checked: measured at some shapes"],
];

export function makeHelp(context: Context): { element: HTMLDialogElement; open: () => void } {
  const close = button("Close", () => element.close());
  const element = h<HTMLDialogElement>(
    "dialog.help",
    { "aria-labelledby": "df-help-title" },
    h("h2", { id: "df-help-title" }, "Help"),
    h("div.help-columns", {}, terms(KEYS, "keys"), terms(WORDS, "words")),
    context.store.now.about.life === "live"
      ? h("p", {}, h("a", { href: "glossary.html", target: "_blank", rel: "noopener" }, "What each fault looks like"))
      : "",
    close,
  );
  const open = () => element.showModal();
  document.addEventListener("keydown", (event) => {
    const target = event.target as HTMLElement;
    if (event.ctrlKey || event.metaKey || event.altKey || element.open || target.closest("input:not([type=range]):not([type=radio]):not([type=checkbox]), textarea, select")) return;
    const act = actions(context, open)[event.key];
    if (!act || (!context.store.now.isConnected && event.key !== "?")) return;
    event.preventDefault();
    act();
  });
  return { element, open };
}

function terms(rows: readonly (readonly [string, string])[], kind: string): HTMLElement {
  return h(`dl.${kind}`, {}, rows.flatMap(([term, meaning]) => [h("dt", {}, term), h("dd", {}, meaning)]));
}

function actions(context: Context, help: () => void): Record<string, () => void> {
  return {
    "?": help,
    w: () => goToWorst(context),
    b: () => goToBase(context),
    n: () => stepComplaint(context, 1),
    p: () => stepComplaint(context, -1),
    l: () => nextLayer(context, 1),
    L: () => nextLayer(context, -1),
  };
}

function nextLayer(context: Context, by: number): void {
  const { about, layer } = context.store.now;
  const names = [null, ...about.layers.map(({ name }) => name)];
  context.store.set({ layer: names[(names.indexOf(layer) + by + names.length) % names.length] });
}
