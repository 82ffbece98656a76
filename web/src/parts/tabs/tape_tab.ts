/** The tab of tape measures: what they are at this shape, and the nearest shape to target measures. */

import type { Context } from "../../context.ts";
import { nameOf, spaced } from "../../naming.ts";
import { withUnit } from "../../draw/scale.ts";
import type { TapeRow } from "../../data/schema.ts";
import { slidBy, stillJoints, type State } from "../../state.ts";
import { button, h, replace } from "../../dom.ts";

const REST_MS = 250;
const MM_PER_CM = 10;

export interface TapeTab {
  readonly element: HTMLElement;
  readonly shown: () => void;
}

export function makeTapeTab(context: Context): TapeTab {
  const { store, source, notices } = context;
  const result = h("div.tape-result", { "aria-live": "polite" });
  const fields = new Map<string, HTMLInputElement>();
  const readings = new Map<string, HTMLElement>();
  const rows = store.now.about.measures.map((name) => {
    const words = spaced(name);
    const reading = h("td.number");
    const field = h<HTMLInputElement>("input", { type: "number", min: 1, max: 300, step: 0.1, "aria-label": `${words}, target in cm` });
    fields.set(name, field);
    readings.set(name, reading);
    return h("tr", {}, h("th", { scope: "row" }, words), reading, h("td.number", {}, field));
  });
  const form = h<HTMLFormElement>(
    "form.tape-form",
    {},
    h("p.quiet-words", {}, "Type target measures. Leave the rest empty."),
    h(
      "table.figures",
      {},
      h("thead", {}, h("tr", {}, h("th", {}, h("span.sr", {}, "Measure")), h("th.number", { scope: "col" }, "now, cm"), h("th.number", { scope: "col" }, "target, cm"))),
      h("tbody", {}, rows),
    ),
    h("div.ways", {}, h("button", { type: "submit" }, "Find the nearest shape"), button("Clear", clear)),
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    void find();
  });
  const ease = h("div.tape-ease");
  store.watch(["faults", "focus", "about"], (state) => replace(ease, easeTable(state)));
  const element = h("div.tape-tab", {}, form, result, ease);
  let timer = 0;
  const later = () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => void measure(), REST_MS);
  };
  store.on(["weights", "joints", "base"], () => {
    if (element.isConnected && element.offsetParent) later();
  });
  return { element, shown: later };

  async function measure(): Promise<void> {
    const { about, base, weights, joints } = store.now;
    const sliders = slidBy(about, joints);
    try {
      const pack = await source.request("measures", { base, weights, ...(sliders && { sliders }) }).result;
      if (!pack || store.now.weights !== weights || store.now.joints !== joints) return;
      for (const row of pack.header.rows) {
        const cell = readings.get(row.name);
        if (!cell) continue;
        cell.textContent = row.mm === null ? "–" : (row.mm / MM_PER_CM).toFixed(1);
        cell.title = [row.definition, row.note].filter(Boolean).join(" ");
      }
    } catch (error) {
      notices.fail(error);
    }
  }

  async function find(): Promise<void> {
    const targets: Record<string, number> = {};
    for (const [name, field] of fields) if (Number.isFinite(field.valueAsNumber)) targets[name] = field.valueAsNumber * MM_PER_CM;
    if (!Object.keys(targets).length) {
      replace(result, h("p", {}, "Type at least one target."));
      return;
    }
    const { base } = store.now;
    const pack = await notices.work("Finding the nearest shape", (tell) => source.request("tape", { base, targets }, tell));
    if (!pack) return;
    store.set({ weights: pack.header.weights, joints: stillJoints(store.now.about), cluster: null, pose: null });
    replace(result, ...outcome(pack.header.rows));
  }

  function clear(): void {
    for (const field of fields.values()) field.value = "";
    replace(result);
  }
}

/** The tape laid over the cloth minus the tape on the skin, by level. */
function easeTable({ faults, focus, about }: State): HTMLElement | null {
  const levels = Object.entries(faults?.girths[focus] ?? {});
  if (!levels.length) return null;
  const number = (mm: number) => h("td.number", {}, withUnit(mm / MM_PER_CM, "", MM_PER_CM));
  return h(
    "table.figures",
    {},
    h("caption", {}, `Ease of ${nameOf(about, focus)}, cm`),
    h("thead", {}, h("tr", {}, h("th", {}, h("span.sr", {}, "Level")), h("th.number", { scope: "col" }, "base body"), h("th.number", { scope: "col" }, "this shape"))),
    h("tbody", {}, levels.map(([level, { base_mm, shape_mm }]) =>
      h("tr", {}, h("th", { scope: "row" }, spaced(level)), number(base_mm), number(shape_mm)))),
  );
}

function outcome(rows: readonly TapeRow[]): HTMLElement[] {
  const missed = rows.filter(({ met }) => !met);
  const words = missed.length
    ? `No shape in the range meets ${missed.length === 1 ? "one target" : `${missed.length} targets`}. This is the nearest.`
    : "Every target is met within 0.5 cm.";
  return [
    h("h2.tab-title", {}, words),
    h("ul", {}, rows.map((row) => {
      const target = withUnit(row.asked_mm / MM_PER_CM, "cm");
      const got = row.got_mm === null ? "none" : withUnit(row.got_mm / MM_PER_CM, "cm");
      const off = row.met || row.missed_mm === null ? "" : `, off by ${withUnit(row.missed_mm / MM_PER_CM, "cm")}`;
      return h(`li.${row.met ? "met" : "missed"}`, {}, `${spaced(row.name)}: target ${target}, found ${got}${off}`);
    })),
  ];
}
