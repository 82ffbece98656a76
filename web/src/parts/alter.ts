/** The leaf that alters: how a garment follows, seen at once, put back or saved. */

import { nameOf, type Desk } from "../app/desk.ts";
import { button, h, replace } from "../dom.ts";
import { garmentOf, type GarmentAbout, type SettingsAbout } from "../data/about.ts";
import { amount } from "./amount.ts";
import type { Painter } from "./painter.ts";
import { familyOf } from "./mast.ts";

const REST_MS = 160;
const ON = 1;

export function makeAlterLeaf(desk: Desk, painter: Painter): HTMLElement {
  const { store } = desk;
  const element = h("div.alter");
  const sender = new Sender(desk);
  let laid = "";
  store.watch(["about", "focus"], ({ about, focus }) => {
    const garment = rootOf(desk, focus);
    if (!garment?.settings) {
      laid = "";
      replace(element, h("p.empty", {}, "No garment is worn that could be altered."));
      return;
    }
    const shown = `${garment.key}|${sender.isBusy ? "" : JSON.stringify(garment.settings)}`;
    // What a person is turning is not laid anew under their hand.
    if (laid === shown || (laid.startsWith(`${garment.key}|`) && element.contains(document.activeElement))) return;
    laid = shown;
    replace(element, ...form(desk, garment, sender, painter, nameOf(about, garment.key)));
  });
  // Told even while the form stays as it is, because a hand is on it.
  store.watch(["about", "focus", "painting"], ({ focus, painting }) => {
    const isPainted = rootOf(desk, focus)?.settings?.painted ?? false;
    element.querySelector(".painted")?.toggleAttribute("hidden", !isPainted);
    element.querySelector(".brush")?.setAttribute("aria-pressed", String(painting));
  });
  return element;
}

/** The garment itself where a variant of it is looked at: alterations are of the garment. */
function rootOf(desk: Desk, key: string): GarmentAbout | undefined {
  const { about } = desk.store.now;
  return garmentOf(about, garmentOf(about, key)?.variant_of ?? key);
}

/** Sends what was changed when the hand rests; of several changes of one setting the last. */
class Sender {
  readonly #desk: Desk;
  #patch: Record<string, unknown> = {};
  #key = "";
  #timer = 0;
  isBusy = false;

  constructor(desk: Desk) {
    this.#desk = desk;
  }

  send(key: string, patch: Readonly<Record<string, unknown>>): void {
    if (this.#key !== key) this.#flush();
    this.#key = key;
    this.#patch = { ...this.#patch, ...patch };
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#flush(), REST_MS);
  }

  async #flush(): Promise<void> {
    if (!Object.keys(this.#patch).length) return;
    const asked = { garment: this.#key, settings: this.#patch };
    this.#patch = {};
    this.isBusy = true;
    try {
      await this.#desk.source.request("edit", asked).result;
    } catch (error) {
      this.#desk.notices.fail((error as Error).message);
    } finally {
      this.isBusy = false;
    }
  }
}

function form(desk: Desk, garment: GarmentAbout, sender: Sender, painter: Painter, name: string): HTMLElement[] {
  const settings = garment.settings!;
  const send = (patch: Readonly<Record<string, unknown>>) => sender.send(garment.key, patch);
  const back = button("Put everything back", async () => {
    try {
      await desk.source.request("edit", { garment: garment.key, settings: null }).result;
      painter.forget(familyOf(desk, garment.key));
    } catch (error) {
      desk.notices.fail((error as Error).message);
    }
  });
  return [
    h("p.leaf-title", {}, name),
    following(settings, send),
    amount("Soft rim between strengths", settings.falloff_mm, { low: 0, high: 120, step: 1, unit: "mm" }, (falloff_mm) => send({ falloff_mm })),
    amount("Clearance that repairs keep", settings.margin_mm, { low: 0, high: 15, step: 0.5, unit: "mm" }, (margin_mm) => send({ margin_mm })),
    ease(settings, send),
    parts(garment, settings, send),
    paint(desk, garment, painter),
    h("div.ways", {}, back, save(desk)),
  ];
}

type Send = (patch: Readonly<Record<string, unknown>>) => void;

function following(settings: SettingsAbout, send: Send): HTMLElement {
  const box = h<HTMLInputElement>("input", { type: "checkbox", checked: settings.strength > 0 });
  const strength = amount("How strongly", settings.strength || ON, { low: 0, high: 1, step: 0.01, unit: "" }, (value) => send({ strength: value }));
  strength.hidden = !box.checked;
  box.addEventListener("change", () => {
    strength.hidden = !box.checked;
    send({ strength: box.checked ? ON : 0 });
  });
  return h("div", {}, h("label.check-row", {}, box, "Follows the body"), strength);
}

function ease(settings: SettingsAbout, send: Send): HTMLElement {
  const select = h<HTMLSelectElement>("select", {}, [["keep", "keeps its distance"], ["scale", "grows with the body"]].map(([value, words]) =>
    h("option", { value, selected: settings.ease === value }, words)));
  select.addEventListener("change", () => send({ ease: select.value }));
  return h("label.field-row", {}, h("span", {}, "Ease"), select);
}

/** Each part's own strength, and whether it is hard. */
function parts(garment: GarmentAbout, settings: SettingsAbout, send: Send): HTMLElement {
  const hard = new Set(settings.hard);
  const rows = garment.parts.map((part) => {
    const words = part.replaceAll("_", " ");
    const own = settings.parts[part];
    const box = h<HTMLInputElement>("input", { type: "checkbox", checked: own !== undefined });
    const strength = amount(`Strength of ${words}`, own ?? ON, { low: 0, high: 1, step: 0.01, unit: "" }, (value) => send({ parts: { [part]: value } }));
    strength.hidden = own === undefined;
    box.addEventListener("change", () => {
      strength.hidden = !box.checked;
      send({ parts: { [part]: box.checked ? ON : null } });
    });
    const stiff = h<HTMLInputElement>("input", { type: "checkbox", checked: hard.has(part) });
    stiff.addEventListener("change", () => {
      if (stiff.checked) hard.add(part);
      else hard.delete(part);
      send({ hard: [...hard] });
    });
    return h("li", {}, h("p.part-name", {}, words), h("label.check-row", {}, box, "its own strength"), h("label.check-row", {}, stiff, "hard: moves as one piece"), strength);
  });
  return h("details.parts", { open: garment.parts.length <= 3 }, h("summary", {}, `Parts (${garment.parts.length})`), h("ul", {}, rows));
}

function paint(desk: Desk, garment: GarmentAbout, painter: Painter): HTMLElement {
  const flip = () => desk.store.set({ painting: !desk.store.now.painting });
  const toggle = button("Paint the strength", flip, { class: "brush", "aria-pressed": String(desk.store.now.painting) });
  return h(
    "div.paint",
    {},
    h("p.part-name", {}, "By brush"),
    toggle,
    amount("Brush", painter.radiusMm, { low: 5, high: 150, step: 1, unit: "mm" }, (radius) => (painter.radiusMm = radius)),
    amount("Strength to paint", painter.value, { low: 0, high: 1, step: 0.01, unit: "" }, (value) => (painter.value = value)),
    h("p.quiet-words", {}, "Draw on the cloth; hold Alt to turn the body meanwhile."),
    h("p.painted", { hidden: !garment.settings?.painted }, "This garment is painted."),
    button("Take the paint off", () => painter.clear(garment.key)),
  );
}

function save(desk: Desk): HTMLElement | null {
  if (!desk.store.now.about.can.includes("save")) return null;
  return button("Save to the settings file", async () => {
    try {
      const pack = await desk.source.request("save", {}).result;
      if (pack) desk.notices.say(`Saved in ${pack.header.file}. Check and fit read it with --settings.`);
    } catch (error) {
      desk.notices.fail((error as Error).message);
    }
  });
}
