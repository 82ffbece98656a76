/** Keys and words: a dialogue that explains both, and the keys themselves. */

import { clusterOf, type Desk } from "../app/desk.ts";
import { button, h } from "../dom.ts";
import { gravestFirst } from "../data/about.ts";
import { goTo } from "./complaints.ts";
import { toWorst } from "./verdict.ts";

const KEYS: readonly (readonly [string, string])[] = [
  ["Tab", "from slider to slider, and on to everything else"],
  ["← →", "on a tape: a hundredth; Page Up and Page Down: a tenth; Home and End: the ends of the range"],
  ["arrows", "on the picture: turn; with Shift: move"],
  ["+  −", "on the picture: nearer, farther"],
  ["1 2 3 4", "on the picture: front, left, back, right"],
  ["Home", "on the picture: the whole body"],
  ["W", "worst shape of the garment"],
  ["B", "base body"],
  ["N  P", "next complaint, the one before"],
  ["L", "next layer; with Shift the one before"],
  ["?", "this page"],
];

const WORDS: readonly (readonly [string, string])[] = [
  ["base body", "the body with every slider at 0"],
  ["slider", "one morph of the body; its tape spans the range that a wearer may reach, the hill under it is the fault along it"],
  ["lift", "how the body's morphs are carried to the cloth"],
  ["clearance", "distance from the skin to the cloth, outward positive"],
  ["ease", "girth of the cloth minus girth of the body at one height"],
  ["pucker", "how far small patches of cloth are from a smooth bend of what was modelled"],
  ["certified", "proven at every shape of the range; checked: looked at on some shapes"],
];

export function makeHelp(desk: Desk): { element: HTMLDialogElement; open: () => void } {
  const close = button("Close", () => element.close());
  const element = h<HTMLDialogElement>(
    "dialog.help",
    { "aria-labelledby": "df-help-title" },
    h("h2", { id: "df-help-title" }, "Keys and words"),
    h("div.help-columns", {}, terms(KEYS, "keys"), terms(WORDS, "words")),
    close,
  );
  const open = () => element.showModal();
  document.addEventListener("keydown", (event) => {
    const target = event.target as HTMLElement;
    if (event.ctrlKey || event.metaKey || event.altKey || element.open || target.closest("input:not([type=range]):not([type=radio]):not([type=checkbox]), textarea, select")) return;
    const act = actions(desk, open)[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });
  return { element, open };
}

function terms(rows: readonly (readonly [string, string])[], kind: string): HTMLElement {
  return h(`dl.${kind}`, {}, rows.flatMap(([term, meaning]) => [h("dt", {}, term), h("dd", {}, meaning)]));
}

function actions(desk: Desk, help: () => void): Record<string, () => void> {
  return {
    "?": help,
    w: () => toWorst(desk),
    b: () => desk.store.set({ weights: desk.store.now.about.sliders.map(() => 0), cluster: null, mark: null, pose: null }),
    n: () => nextCluster(desk, 1),
    p: () => nextCluster(desk, -1),
    l: () => nextLayer(desk, 1),
    L: () => nextLayer(desk, -1),
  };
}

function nextCluster(desk: Desk, by: number): void {
  const { about, cluster } = desk.store.now;
  const order = gravestFirst(about.clusters, ({ place }) => place.severity);
  const here = order.findIndex(({ id }) => id === cluster);
  const next = here < 0 ? (by > 0 ? 0 : order.length - 1) : (here + by + order.length) % order.length;
  const found = clusterOf(about, order[next]?.id ?? null);
  if (found) goTo(desk, found);
}

function nextLayer(desk: Desk, by: number): void {
  const { about, layer } = desk.store.now;
  const names = [null, ...about.layers.map(({ name }) => name)];
  desk.store.set({ layer: names[(names.indexOf(layer) + by + names.length) % names.length] });
}
