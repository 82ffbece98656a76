/** The tab that compares two: two methods, before and after a repair or a change, or two garments. */

import type { Context } from "../../context.ts";
import { nameOf, rootOf } from "../../naming.ts";
import { button, h, replace, replaceKeepingFocus } from "../../dom.ts";
import { garmentOf, type About } from "../../data/about.ts";
import type { CompareAnswer } from "../../data/schema.ts";
import { withUnit } from "../../draw/scale.ts";
import type { Comparison, State } from "../../state.ts";
import { familyOf } from "../wearing.ts";
import { mark, severityWords } from "../marks.ts";

const NONE = "";
const HALF = 0.5;
const REST_MS = 200;

/** Versions that can be made, live. */
const VERSIONS: readonly { words: string; asked: Readonly<Record<string, unknown>> }[] = [
  { words: "repaired over the whole range", asked: { repaired: true } },
  { words: "as it was opened", asked: { opened: true } },
  { words: "following the nearest body vertex", asked: { method: "nearest" } },
  { words: "following the three nearest body vertices", asked: { method: "nearest-three" } },
  { words: "following the nearest point of the skin", asked: { method: "surface" } },
  { words: "following by the smooth lift", asked: { method: "smooth" } },
];

export function makeCompareTab(context: Context): HTMLElement {
  const { store } = context;
  const choice = h("div.compare-choice");
  const figures = h("div.compare-figures");
  const element = h("div.compare-tab", {}, choice, figures, maker(context));
  store.watch(["about", "comparison", "focus"], (state) => replaceKeepingFocus(choice, ...controls(context, state)));
  let timer = 0;
  store.watch(["comparison", "weights", "about", "base"], () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => void fill(context, figures), REST_MS);
  });
  return element;
}

function controls(context: Context, { about, comparison, focus }: State): (HTMLElement | null)[] {
  if (about.garments.length < 2) {
    return [h("p", {}, context.source.isLive ? "Only one version of one garment is open. Make another below, or start again with two garments." : "This report holds one version of one garment, so there is nothing to compare.")];
  }
  const first = comparison?.a ?? focus;
  // Without another version of it, nobody has said yet what to compare a garment with.
  const second = comparison?.b ?? familyOf(context, focus).find((key) => key !== first) ?? NONE;
  const start = (patch: Partial<Comparison>) => {
    const now = store(context).comparison ?? { a: first, b: second, mode: "beside" as const, at: HALF };
    const next = { ...now, ...patch };
    if (next.a !== NONE && next.b !== NONE) context.store.set({ comparison: next });
  };
  const isReady = first !== NONE && second !== NONE;
  return [
    h("div.pair", {}, pick(about, "Left", first, (a) => start({ a })), pick(about, "Right", second, (b) => start({ b }))),
    h(
      "div.ways",
      {},
      press("Side by side", comparison?.mode === "beside", isReady, () => start({ mode: "beside" })),
      press("Wipe", comparison?.mode === "wipe", isReady, () => start({ mode: "wipe" })),
      comparison && button("End comparison", () => context.store.set({ comparison: null })),
    ),
  ];
}

function store(context: Context): State {
  return context.store.now;
}

function pick(about: About, words: string, chosen: string, choose: (key: string) => void): HTMLElement {
  const select = h<HTMLSelectElement>(
    "select",
    {},
    chosen === NONE && h("option", { value: NONE, selected: true }, "choose …"),
    about.garments.map(({ key }) => h("option", { value: key, selected: key === chosen }, nameOf(about, key))),
  );
  select.addEventListener("change", () => choose(select.value));
  return h("label.field-row", {}, h("span", {}, words), select);
}

function press(words: string, isOn: boolean, isReady: boolean, act: () => void): HTMLElement {
  return button(words, act, { "aria-pressed": String(isOn), disabled: !isReady });
}

async function fill(context: Context, figures: HTMLElement): Promise<void> {
  const { comparison, about } = store(context);
  if (!comparison) {
    replace(figures);
    return;
  }
  const { a, b } = comparison;
  if (!context.source.isLive) {
    replace(figures, ...verdicts(about, [a, b]));
    return;
  }
  const { base, weights } = store(context);
  try {
    const pack = await context.source.request("compare", { base, weights, garments: [a, b] }).result;
    if (!pack || store(context).comparison?.a !== a || store(context).comparison?.b !== b) return;
    replace(figures, ...differences(pack.header));
  } catch (error) {
    context.notices.fail(error);
  }
}

function differences({ rows, moved_mm: moved }: CompareAnswer): (HTMLElement | null)[] {
  const told = rows.filter(({ first, second }) => first || second);
  return [
    told.length
      ? h(
          "table.figures",
          {},
          h("caption", {}, "At this shape"),
          h("thead", {}, h("tr", {}, h("th", {}, h("span.sr", {}, "Fault")), h("th.number", { scope: "col" }, "left"), h("th.number", { scope: "col" }, "right"), h("th.number", { scope: "col" }, "change"))),
          h("tbody", {}, told.map(({ fault_words: words, unit, first, second }) =>
            h("tr", {}, h("th", { scope: "row" }, words, unit && h("span.unit", {}, `, ${unit}`)), h("td.number", {}, figureOf(first)), h("td.number", {}, figureOf(second)), h("td.number", {}, change(first, second))),
          )),
        )
      : h("p", {}, "Neither has a fault at this shape."),
    moved && h("p.quiet-words", {}, `The cloth of the two lies ${withUnit(moved.rms, "mm")} apart on average (root mean square), ${withUnit(moved.largest, "mm")} at most.`),
  ];
}

/** A figure, or a dash where the cloth is too coarse to tell. */
function figureOf(value: number | null): string {
  return value === null ? "–" : withUnit(value, "");
}

export function change(first: number | null, second: number | null): string {
  if (first === null || second === null) return "–";
  const difference = second - first;
  if (Math.abs(difference) < 1e-9) return "same";
  return `${difference > 0 ? "+" : ""}${withUnit(difference, "")}`;
}

function verdicts(about: About, keys: readonly string[]): HTMLElement[] {
  return keys.map((key) => {
    const garment = garmentOf(about, key);
    const severity = garment?.severity ?? "";
    return h("div.compare-verdict", {}, h("h2.tab-title", {}, nameOf(about, key)), h("p", {}, mark(severity), ` ${garment?.verdict || severityWords(severity)}`));
  });
}

function maker(context: Context): HTMLElement | null {
  if (!store(context).about.can.includes("fit")) return null;
  const select = h<HTMLSelectElement>("select", { "aria-label": "Version to make" }, VERSIONS.map(({ words }, i) => h("option", { value: i }, words)));
  const make = button("Make it and compare", async () => {
    const { focus, about } = store(context);
    const root = rootOf(about, focus);
    const { words, asked } = VERSIONS[Number(select.value)];
    const values = { garment: root, method: null, repaired: false, opened: false, ...asked };
    const pack = await context.notices.work(`Making ${nameOf(about, root)}, ${words}`, (tell) => context.source.request("fit", values, tell));
    if (pack) awaitVariant(context, root, pack.header.garment);
  });
  return h("div.maker", {}, h("h2.tab-title", {}, "Another version"), select, make);
}

/** Compare as soon as an About lists the variant. */
function awaitVariant(context: Context, root: string, key: string): void {
  const compare = () => {
    if (!garmentOf(store(context).about, key)) return false;
    context.store.set({ comparison: { a: root, b: key, mode: "beside", at: HALF } });
    return true;
  };
  if (compare()) return;
  let isDone = false;
  context.store.on(["about"], () => {
    if (!isDone) isDone = compare();
  });
}
