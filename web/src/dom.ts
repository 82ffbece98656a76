/** The little that the page needs to make elements. */

type Child = Node | string | null | undefined | false;
type Value = string | number | boolean | null | undefined | ((event: never) => void);

/** An element by tag and classes ("p.note"), attributes or listeners ("onclick"), and children. */
export function h<T extends HTMLElement = HTMLElement>(
  what: string,
  attributes: Readonly<Record<string, Value>> = {},
  ...children: readonly (Child | readonly Child[])[]
): T {
  const [tag, ...classes] = what.split(".");
  const element = document.createElement(tag) as T;
  if (classes.length) element.className = classes.join(" ");
  setAll(element, attributes);
  element.append(...kept(children));
  return element;
}

const SVG = "http://www.w3.org/2000/svg";

export function svg<T extends SVGElement = SVGElement>(
  tag: string,
  attributes: Readonly<Record<string, Value>> = {},
  ...children: readonly (Child | readonly Child[])[]
): T {
  const element = document.createElementNS(SVG, tag) as T;
  setAll(element, attributes);
  element.append(...kept(children));
  return element;
}

export function replace(parent: Element, ...children: readonly (Child | readonly Child[])[]): void {
  parent.replaceChildren(...kept(children));
}

/** The same, and what had the keyboard's focus has it again if it is still there. */
export function replaceKeepingFocus(parent: Element, ...children: readonly (Child | readonly Child[])[]): void {
  const active = document.activeElement;
  const wanted = active && parent.contains(active) ? likeness(active) : null;
  replace(parent, ...children);
  if (wanted === null) return;
  const again = [...parent.querySelectorAll<HTMLElement>("a, button, input, select, textarea, summary")];
  again.find((element) => likeness(element) === wanted)?.focus({ preventScroll: true });
}

function likeness(element: Element): string {
  return [element.tagName, element.getAttribute("type"), element.ariaLabel, element.textContent].join("|");
}

function setAll(element: Element, attributes: Readonly<Record<string, Value>>): void {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    // Through the style object, because a strict content policy forbids style attributes.
    if (name === "style") (element as HTMLElement).style.cssText = String(value);
    else if (typeof value === "function") element.addEventListener(name.slice(2), value as EventListener);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
}

function kept(children: readonly (Child | readonly Child[])[]): (Node | string)[] {
  return children.flat().filter((child): child is Node | string => child !== null && child !== undefined && child !== false);
}

export function button(words: string, onclick: (event: MouseEvent) => void, attributes: Record<string, Value> = {}): HTMLButtonElement {
  return h<HTMLButtonElement>("button", { type: "button", onclick, ...attributes }, words);
}

let made = 0;

/** A fresh id, for labels that must point at something. */
export function freshId(): string {
  made += 1;
  return `df-${made}`;
}
