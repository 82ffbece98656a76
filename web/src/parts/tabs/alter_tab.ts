/** The tab that changes how a garment follows: seen at once, undone or saved. */

import type { Context } from "../../context.ts";
import { nameOf, rootOf, spaced } from "../../naming.ts";
import { button, h, replace, replaceKeepingFocus } from "../../dom.ts";
import { garmentOf, type GarmentAbout, type SettingsAbout } from "../../data/about.ts";
import { amount } from "../amount.ts";
import type { Painter } from "../painter.ts";
import { familyOf } from "../wearing.ts";

const REST_MS = 160;
const ON = 1;
/** By the name that the program knows: what a person reads, and what it means. */
const JOINT_WEIGHTS: Readonly<Record<string, readonly [string, string]>> = {
  own: ["its own", "Those of its file; lifted from the body where the file has none for the body's joints."],
  lifted: ["lifted", "Lifted from the body to the cloth, so that it moves like the skin under it."],
  smoothed: ["smoothed", "From the skin where it is near, evenly continued along the cloth elsewhere."],
  "nearest-part": ["nearest part", "From the nearest skin alone, and from the part of the body there."],
  "one-joint": ["one joint", "All of it moves with one joint, as a rigid thing does."],
  none: ["none", "It stays as modelled, whatever the body does."],
};

export function makeAlterTab(context: Context, painter: Painter): HTMLElement {
  const { store } = context;
  const element = h("div.alter");
  const sender = new Sender(context);
  let laid = "";
  let undone: string | null = null; // settings that were in force when all changes were undone
  const undo = (settings: SettingsAbout) => (undone = JSON.stringify(settings));
  store.watch(["about", "focus"], ({ about, focus }) => {
    const garment = editedGarment(context, focus);
    if (!garment?.settings) {
      laid = "";
      replace(element, h("p.empty", {}, "Put a garment on to change how it follows."));
      return;
    }
    const shown = `${garment.key}|${sender.isBusy ? "" : JSON.stringify(garment.settings)}`;
    const isUndone = undone !== null && undone !== JSON.stringify(garment.settings);
    if (isUndone) undone = null;
    // What a person is changing is left alone meanwhile.
    else if (laid === shown || (laid.startsWith(`${garment.key}|`) && element.contains(document.activeElement))) return;
    laid = shown;
    replaceKeepingFocus(element, ...form(context, garment, sender, painter, nameOf(about, garment.key), undo));
  });
  // Said even while the form stays as it is.
  store.watch(["about", "focus", "painting"], ({ focus, painting }) => {
    const isPainted = editedGarment(context, focus)?.settings?.painted ?? false;
    element.querySelector(".painted")?.toggleAttribute("hidden", !isPainted);
    element.querySelector(".brush")?.setAttribute("aria-pressed", String(painting));
  });
  return element;
}

/** The garment itself where a variant of it is looked at: changes are made to the garment. */
function editedGarment(context: Context, key: string): GarmentAbout | undefined {
  const { about } = context.store.now;
  return garmentOf(about, rootOf(about, key));
}

/** Sends changes once they pause; of several changes of one setting the last. */
class Sender {
  readonly #context: Context;
  #patch: Record<string, unknown> = {};
  #key = "";
  #timer = 0;
  isBusy = false;

  constructor(context: Context) {
    this.#context = context;
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
      await this.#context.source.request("edit", asked).result;
    } catch (error) {
      this.#context.notices.fail(error);
    } finally {
      this.isBusy = false;
    }
  }
}

function form(context: Context, garment: GarmentAbout, sender: Sender, painter: Painter, name: string, undo: (settings: SettingsAbout) => void): (HTMLElement | null)[] {
  const settings = garment.settings!;
  const send = (patch: Readonly<Record<string, unknown>>) => sender.send(garment.key, patch);
  const back = button("Undo all changes", async () => {
    try {
      undo(garmentOf(context.store.now.about, garment.key)?.settings ?? settings);
      await context.source.request("edit", { garment: garment.key, settings: null }).result;
      painter.forget(familyOf(context, garment.key));
    } catch (error) {
      context.notices.fail(error);
    }
  });
  return [
    h("h2.tab-title", {}, name),
    following(settings, send),
    amount("Width of the soft rim between strengths", settings.falloff_mm, { low: 0, high: 120, step: 1, unit: "mm" }, (falloff_mm) => send({ falloff_mm })),
    amount("Margin: least distance from the skin that repairs keep", settings.margin_mm, { low: 0, high: 15, step: 0.5, unit: "mm" }, (margin_mm) => send({ margin_mm })),
    ease(settings, send),
    context.store.now.about.joints.length > 0 ? jointWeights(settings, send) : null,
    parts(garment, settings, send),
    paint(context, garment, painter),
    h("div.ways", {}, back, save(context)),
  ];
}

type Send = (patch: Readonly<Record<string, unknown>>) => void;

function following(settings: SettingsAbout, send: Send): HTMLElement {
  const box = h<HTMLInputElement>("input", { type: "checkbox", checked: settings.strength > 0 });
  const strength = amount("Strength", settings.strength || ON, { low: 0, high: 1, step: 0.01, unit: "" }, (value) => send({ strength: value }));
  strength.hidden = !box.checked;
  box.addEventListener("change", () => {
    strength.hidden = !box.checked;
    send({ strength: box.checked ? ON : 0 });
  });
  return h("div", {}, h("label.check-row", {}, box, "Follows the body"), strength);
}

function ease(settings: SettingsAbout, send: Send): HTMLElement {
  const select = h<HTMLSelectElement>("select", {}, [["keep", "keep the distance to the skin"], ["scale", "scale it with the body"]].map(([value, words]) =>
    h("option", { value, selected: settings.ease === value }, words)));
  select.addEventListener("change", () => send({ ease: select.value }));
  return h("label.field-row", {}, h("span", {}, "Ease"), select);
}

/** Where the joint weights come from that carry it when the body takes a pose. */
function jointWeights(settings: SettingsAbout, send: Send): HTMLElement {
  const told = h("p.quiet-words");
  const select = h<HTMLSelectElement>("select", {}, Object.entries(JOINT_WEIGHTS).map(([value, [words]]) =>
    h("option", { value, selected: settings.joint_weights === value }, words)));
  const tell = () => (told.textContent = JOINT_WEIGHTS[select.value]?.[1] ?? "");
  select.addEventListener("change", () => {
    tell();
    send({ joint_weights: select.value });
  });
  tell();
  return h("div.joint-weights", {}, h("label.field-row", {}, h("span", {}, "Joint weights"), select), told);
}

/** Each part's own strength, and whether it is hard. */
function parts(garment: GarmentAbout, settings: SettingsAbout, send: Send): HTMLElement {
  const hard = new Set(settings.hard);
  const rows = garment.parts.map((part) => {
    const words = spaced(part);
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
    return h("li", {}, h("h3.part-name", {}, words), h("label.check-row", {}, box, "own strength"), h("label.check-row", {}, stiff, "hard: keeps its form"), strength);
  });
  return h("details.parts", { open: garment.parts.length <= 3 }, h("summary", {}, `Parts (${garment.parts.length})`), h("ul", {}, rows));
}

function paint(context: Context, garment: GarmentAbout, painter: Painter): HTMLElement {
  const flip = () => context.store.set({ painting: !context.store.now.painting });
  const toggle = button("Paint strength", flip, { class: "brush", "aria-pressed": String(context.store.now.painting) });
  return h(
    "div.paint",
    {},
    h("h3.part-name", {}, "Strength by brush"),
    toggle,
    amount("Brush radius", painter.radiusMm, { low: 5, high: 150, step: 1, unit: "mm" }, (radius) => (painter.radiusMm = radius)),
    amount("Strength to paint", painter.value, { low: 0, high: 1, step: 0.01, unit: "" }, (value) => (painter.value = value)),
    h("p.quiet-words", {}, "Draw on the cloth. Hold Alt to turn the body instead."),
    h("p.painted", { hidden: !garment.settings?.painted }, "This garment has painted strength."),
    button("Clear paint", () => painter.clear(garment.key)),
  );
}

function save(context: Context): HTMLElement | null {
  if (!context.store.now.about.can.includes("save")) return null;
  return button("Save settings", async () => {
    try {
      const pack = await context.source.request("save", {}).result;
      if (pack) context.notices.say(`Saved in ${pack.header.file}. dressform check and fit read it with --settings.`);
    } catch (error) {
      context.notices.fail(error);
    }
  });
}
