/** The header of the page: whose body, what is worn, and the few things that concern the whole page. */

import type { Context } from "../context.ts";
import { nameOf } from "../naming.ts";
import { button, h, replace, replaceKeepingFocus } from "../dom.ts";
import { gravestFirst } from "../data/about.ts";
import { mark, severityWords } from "./marks.ts";
import { makeThemeButton } from "./theme.ts";
import { lookAt, putOn } from "./wearing.ts";

const MANY = 12; // from more garments on, a field to find one by its name is offered

export function makeHeader(context: Context, openHelp: () => void): HTMLElement {
  return h(
    context.source.isLive ? "header.header" : "div.header",
    {},
    h(context.source.isLive ? "h1.wordmark" : "p.wordmark", {}, "dressform"),
    makeBody(context),
    makeWardrobe(context),
    h("div.header-end", {}, makeThemeButton(context), button("Help", openHelp, { class: "quiet" })),
  );
}

function makeBody(context: Context): HTMLElement {
  const { store } = context;
  const holder = h("div.whose");
  store.watch(["about", "base"], ({ about, base }, before) => {
    if (before !== store.now && before.about.bases === about.bases && before.base === base) return;
    if (!context.source.isLive || about.bases.length < 2) {
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
function makeWardrobe(context: Context): HTMLElement {
  const { store } = context;
  const label = h("span.quiet-label"), words = h("span.worn-words");
  const list = h("ul.wardrobe-list");
  const many = store.now.about.garments.length > MANY;
  const find = h<HTMLInputElement>("input", { type: "search", placeholder: "Find a garment", "aria-label": "Find a garment", hidden: !many });
  const sieve = () => {
    const wanted = find.value.trim().toLowerCase();
    for (const item of list.children) (item as HTMLElement).hidden = !item.querySelector(".garment-name")!.textContent!.toLowerCase().includes(wanted);
  };
  find.addEventListener("input", sieve);
  const details = h<HTMLDetailsElement>("details.wardrobe", {}, h("summary", {}, label, words), h("div.wardrobe-room", {}, find, list));
  store.watch(["about", "worn", "focus"], ({ about, worn, focus }) => {
    const names = worn.map((key) => nameOf(about, key));
    words.textContent = names.length > 3 ? `${names.slice(0, 2).join(", ")} and ${names.length - 2} more` : names.join(", ");
    label.textContent = names.length ? "Worn: " : "Nothing worn";
    replaceKeepingFocus(list, gravestFirst(about.garments, ({ severity }) => severity).map((garment) => {
      const isWorn = worn.includes(garment.key);
      const box = h<HTMLInputElement>("input", { type: "checkbox", checked: isWorn, "aria-label": `Wear ${nameOf(about, garment.key)}` });
      box.addEventListener("change", () => putOn(context, garment.key, box.checked));
      const name = button(nameOf(about, garment.key), () => lookAt(context, garment.key), { class: "garment-name", "aria-pressed": String(focus === garment.key) });
      return h("li", {}, box, name, mark(garment.severity), h("span.severity", {}, severityWords(garment.severity)), h("p.garment-verdict", {}, garment.verdict));
    }));
    sieve();
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

