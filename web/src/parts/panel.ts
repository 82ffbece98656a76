/** The panel beside the body: its tabs, one open at a time. */

import { freshId, h } from "../dom.ts";

export interface Tab {
  readonly name: string;
  readonly content: HTMLElement;
  /** Called whenever the tab is opened. */
  readonly shown?: () => void;
}

export interface Panel {
  readonly element: HTMLElement;
  open(name: string): void;
  /** Add a tab in front, or take it away. */
  lead(tab: Tab | null): void;
}

interface Laid {
  readonly tab: Tab;
  readonly button: HTMLButtonElement;
  readonly pane: HTMLElement;
}

export function makePanel(tabs: readonly Tab[]): Panel {
  const list = h("div.tabs", { role: "tablist", "aria-label": "Tabs of the panel" });
  const element = h("section.panel", { "aria-label": "Panel" }, list);
  let laid: Laid[] = [];
  let lead: Tab | null = null;
  let current = tabs[0].name;

  function lay(): void {
    const wanted = lead ? [lead, ...tabs] : tabs;
    laid = wanted.map((tab) => laid.find((each) => each.tab === tab) ?? made(tab));
    list.replaceChildren(...laid.map(({ button }) => button));
    element.replaceChildren(list, ...laid.map(({ pane }) => pane));
    if (!laid.some(({ tab }) => tab.name === current)) current = tabs[0].name;
    show();
  }

  function made(tab: Tab): Laid {
    const id = freshId();
    const button = h<HTMLButtonElement>("button.tab", { type: "button", role: "tab", id: `${id}-tab`, "aria-controls": id }, tab.name);
    const pane = h("div.pane", { role: "tabpanel", id, "aria-labelledby": `${id}-tab`, tabindex: 0 }, tab.content);
    button.addEventListener("click", () => open(tab.name));
    button.addEventListener("keydown", (event) => step(event));
    return { tab, button, pane };
  }

  function step(event: KeyboardEvent): void {
    const at = laid.findIndex(({ tab }) => tab.name === current);
    const to: Record<string, number> = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: laid.length - 1 };
    if (!(event.key in to)) return;
    event.preventDefault();
    const next = laid[(to[event.key] + laid.length) % laid.length];
    open(next.tab.name);
    next.button.focus();
  }

  function show(): void {
    for (const { tab, button, pane } of laid) {
      const isOpen = tab.name === current;
      button.setAttribute("aria-selected", String(isOpen));
      button.tabIndex = isOpen ? 0 : -1;
      pane.hidden = !isOpen;
    }
  }

  function open(name: string): void {
    current = name;
    show();
    laid.find(({ tab }) => tab.name === name)?.tab.shown?.();
  }

  lay();
  return {
    element,
    open,
    lead(tab) {
      lead = tab;
      if (tab) current = tab.name;
      lay();
    },
  };
}
