/** What is read off the surface: the choice of a layer. Few stand in the row, all others behind a button. */

import type { Context } from "../context.ts";
import type { About } from "../data/about.ts";
import { button, freshId, h, replace } from "../dom.ts";
import { layerOfFault } from "../fault_words.ts";

const NOTHING = "";
const AS_WORN = "as worn";
/** Layers that are offered at once, whatever was found. */
const FIRST: readonly string[] = ["exposed", "in_front", "depth", "pucker", "stretch", "clearance"];

export function makeLayerChoice(context: Context): HTMLElement {
  const { store } = context;
  const name = freshId();
  const row = h("div.layer-row", { role: "radiogroup", "aria-label": "Layer on the surface" });
  let isWhole = false;
  const more = button("", () => {
    isWhole = !isWhole;
    show();
  }, { class: "more-layers" });
  const show = () => {
    const { about, layer } = store.now;
    const few = ofUse(about);
    const labels = [...row.querySelectorAll<HTMLLabelElement>("label")];
    for (const label of labels) {
      const input = label.querySelector("input")!;
      input.checked = input.value === (layer ?? NOTHING);
      label.hidden = !isWhole && !input.checked && !few.has(input.value);
      if (input.checked) reveal(row, label);
    }
    more.hidden = about.layers.every((one) => few.has(one.name));
    more.textContent = isWhole ? "Fewer layers" : "All layers";
    more.setAttribute("aria-expanded", String(isWhole));
  };
  store.watch(["about"], ({ about }, before) => {
    if (before === store.now || before.about.layers !== about.layers) {
      const options = [{ name: NOTHING, label: AS_WORN }, ...about.layers];
      replace(row, options.map((option) => makeOption(context, name, option)));
    }
    show();
  });
  store.on(["layer"], show);
  return h("div.layers", {}, row, more);
}

/** Names of the layers that are offered at once: the few, and those of faults that were found. */
export function ofUse(about: About): ReadonlySet<string> {
  const found = about.clusters.map(({ place }) => layerOfFault(about, place.fault)).filter((name) => name !== null);
  return new Set([NOTHING, ...FIRST, ...found]);
}

function makeOption(context: Context, group: string, option: { name: string; label: string }): HTMLElement {
  const input = h<HTMLInputElement>("input", { type: "radio", name: group, value: option.name });
  input.addEventListener("change", () => context.store.set({ layer: option.name || null }));
  return h("label.layer", {}, input, h("span", {}, option.label));
}

/** Where the row is wider than the page, its chosen layer comes into view; the page itself does not move. */
function reveal(row: HTMLElement, label: HTMLElement): void {
  const [box, room] = [label.getBoundingClientRect(), row.getBoundingClientRect()];
  if (box.left < room.left || box.right > room.right) row.scrollLeft += box.left - room.left - (room.width - box.width) / 2;
}
