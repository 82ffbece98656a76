/** The slip of paper beside the body: its leaves, one at a time. */

import { freshId, h } from "../dom.ts";

export interface Leaf {
  readonly name: string;
  readonly content: HTMLElement;
  /** Called whenever the leaf comes up. */
  readonly shown?: () => void;
}

export interface Slip {
  readonly element: HTMLElement;
  open(name: string): void;
  /** Add a leaf in front, or take it away. */
  lead(leaf: Leaf | null): void;
}

export function makeSlip(leaves: readonly Leaf[]): Slip {
  const tabs = h("div.tabs", { role: "tablist", "aria-label": "Leaves of the slip" });
  const element = h("section.slip", { "aria-label": "Slip" }, tabs);
  let here: { leaf: Leaf; tab: HTMLButtonElement; panel: HTMLElement }[] = [];
  let lead: Leaf | null = null;
  let current = leaves[0].name;

  function lay(): void {
    const wanted = lead ? [lead, ...leaves] : leaves;
    here = wanted.map((leaf) => here.find((each) => each.leaf === leaf) ?? made(leaf));
    tabs.replaceChildren(...here.map(({ tab }) => tab));
    element.replaceChildren(tabs, ...here.map(({ panel }) => panel));
    if (!here.some(({ leaf }) => leaf.name === current)) current = leaves[0].name;
    show();
  }

  function made(leaf: Leaf): { leaf: Leaf; tab: HTMLButtonElement; panel: HTMLElement } {
    const id = freshId();
    const tab = h<HTMLButtonElement>("button.tab", { type: "button", role: "tab", id: `${id}-tab`, "aria-controls": id }, leaf.name);
    const panel = h("div.leaf", { role: "tabpanel", id, "aria-labelledby": `${id}-tab`, tabindex: 0 }, leaf.content);
    tab.addEventListener("click", () => open(leaf.name));
    tab.addEventListener("keydown", (event) => step(event));
    return { leaf, tab, panel };
  }

  function step(event: KeyboardEvent): void {
    const at = here.findIndex(({ leaf }) => leaf.name === current);
    const to: Record<string, number> = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: here.length - 1 };
    if (!(event.key in to)) return;
    event.preventDefault();
    const next = here[(to[event.key] + here.length) % here.length];
    open(next.leaf.name);
    next.tab.focus();
  }

  function show(): void {
    for (const { leaf, tab, panel } of here) {
      const isOpen = leaf.name === current;
      tab.setAttribute("aria-selected", String(isOpen));
      tab.tabIndex = isOpen ? 0 : -1;
      panel.hidden = !isOpen;
    }
  }

  function open(name: string): void {
    current = name;
    show();
    here.find(({ leaf }) => leaf.name === name)?.leaf.shown?.();
  }

  lay();
  return {
    element,
    open,
    lead(leaf) {
      lead = leaf;
      if (leaf) current = leaf.name;
      lay();
    },
  };
}
