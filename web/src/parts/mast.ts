/** The head of the page: whose body, what is worn, and the few things that concern the whole page. */

import { nameOf, type Desk } from "../app/desk.ts";
import { button, h, replace, replaceKeepingFocus } from "../dom.ts";
import { gravestFirst } from "../data/about.ts";
import { mark, severityWords } from "./marks.ts";
import { makeThemeButton } from "./theme.ts";

export function makeMast(desk: Desk, openHelp: () => void): HTMLElement {
  return h(
    "div.mast",
    {},
    h("p.wordmark", {}, "dressform"),
    makeBody(desk),
    makeWardrobe(desk),
    h("div.mast-end", {}, makeThemeButton(desk), button("Keys", openHelp, { class: "quiet" })),
  );
}

function makeBody(desk: Desk): HTMLElement {
  const { store } = desk;
  const holder = h("div.whose");
  store.watch(["about", "base"], ({ about, base }, before) => {
    if (before !== store.now && before.about.bases === about.bases && before.base === base) return;
    if (!desk.source.isLive || about.bases.length < 2) {
      replace(holder, h("span.body-name", {}, about.bases[base] ?? about.body.name));
      return;
    }
    const select = h<HTMLSelectElement>("select", { "aria-label": "Base body" });
    about.bases.forEach((name, i) => select.append(h("option", { value: i, selected: i === base }, name)));
    select.addEventListener("change", () => store.set({ base: Number(select.value), cluster: null }));
    replace(holder, select);
  });
  return holder;
}

/** Every garment: whether it is worn, and whether it is the one that is looked at. */
function makeWardrobe(desk: Desk): HTMLElement {
  const { store } = desk;
  const words = h("span.worn-words");
  const list = h("ul.wardrobe-list");
  const details = h<HTMLDetailsElement>("details.wardrobe", {}, h("summary", {}, h("span.quiet-label", {}, "wears "), words), list);
  store.watch(["about", "worn", "focus"], ({ about, worn, focus }) => {
    const names = worn.map((key) => nameOf(about, key));
    words.textContent = names.length > 3 ? `${names.slice(0, 2).join(", ")} and ${names.length - 2} more` : names.join(", ") || "nothing";
    replaceKeepingFocus(list, gravestFirst(about.garments, ({ severity }) => severity).map((garment) => {
      const isWorn = worn.includes(garment.key);
      const box = h<HTMLInputElement>("input", { type: "checkbox", checked: isWorn, "aria-label": `Wear ${nameOf(about, garment.key)}` });
      box.addEventListener("change", () => toggle(desk, garment.key, box.checked));
      const name = button(nameOf(about, garment.key), () => look(desk, garment.key), { class: "garment-name", "aria-pressed": String(focus === garment.key) });
      return h("li", {}, box, name, mark(garment.severity), h("span.severity", {}, severityWords(garment.severity)), h("p.garment-verdict", {}, garment.verdict));
    }));
  });
  document.addEventListener("pointerdown", (event) => {
    if (details.open && !details.contains(event.target as Node)) details.open = false;
  });
  details.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !details.open) return;
    details.open = false;
    details.querySelector("summary")?.focus();
    event.stopPropagation();
  });
  return details;
}

function toggle(desk: Desk, key: string, on: boolean): void {
  const { worn, focus } = desk.store.now;
  const next = on ? [...worn, key] : worn.filter((other) => other !== key);
  desk.store.set({ worn: next, focus: on ? key : focus === key ? (next[0] ?? key) : focus });
}

/** Look at a garment: it is worn, in place of its own variants. */
export function look(desk: Desk, key: string): void {
  const { worn, about } = desk.store.now;
  if (worn.includes(key)) {
    desk.store.set({ focus: key });
    return;
  }
  const family = familyOf(desk, key);
  const others = worn.filter((other) => !family.includes(other));
  const one = about.garments.filter((garment) => garment.worn).length === 0 ? [] : others;
  desk.store.set({ focus: key, worn: [...one, key] });
}

/** A garment and all its variants. */
export function familyOf(desk: Desk, key: string): string[] {
  const { garments } = desk.store.now.about;
  const root = garments.find((garment) => garment.key === key)?.variant_of ?? key;
  return garments.filter((garment) => garment.key === root || garment.variant_of === root).map((garment) => garment.key);
}
