/** The leaf that compares two: two lifts, before and after a repair or an alteration, or two garments. */

import { nameOf, type Desk } from "../app/desk.ts";
import { button, h, replace, replaceKeepingFocus } from "../dom.ts";
import { garmentOf, type About } from "../data/about.ts";
import type { CompareAnswer } from "../data/schema.ts";
import { withUnit } from "../draw/scale.ts";
import type { Comparison, State } from "../state.ts";
import { familyOf } from "./mast.ts";
import { mark, severityWords } from "./marks.ts";

const HALF = 0.5;
const REST_MS = 200;

/** What another version can be made of, live. */
const MAKES: readonly { words: string; asked: Readonly<Record<string, unknown>> }[] = [
  { words: "repaired over the whole range", asked: { repaired: true } },
  { words: "as it was opened", asked: { opened: true } },
  { words: "following the nearest vertex", asked: { method: "nearest" } },
  { words: "following the three nearest vertices", asked: { method: "nearest-three" } },
  { words: "following the nearest point of the surface", asked: { method: "surface" } },
  { words: "following by the smooth lift", asked: { method: "smooth" } },
];

export function makeCompareLeaf(desk: Desk): HTMLElement {
  const { store } = desk;
  const choice = h("div.compare-choice");
  const figures = h("div.compare-figures");
  const element = h("div.compare-leaf", {}, choice, figures, maker(desk));
  store.watch(["about", "comparison", "focus"], (state) => replaceKeepingFocus(choice, ...controls(desk, state)));
  let timer = 0;
  store.watch(["comparison", "weights", "about", "base"], () => {
    clearTimeout(timer);
    timer = window.setTimeout(() => void fill(desk, figures), REST_MS);
  });
  return element;
}

function controls(desk: Desk, { about, comparison, focus }: State): (HTMLElement | null)[] {
  if (about.garments.length < 2) {
    return [h("p", {}, desk.source.isLive ? "There is one version of one garment. Make another below, or open two garments." : "This report holds one version of one garment: there is nothing to compare it with.")];
  }
  const family = familyOf(desk, focus);
  const first = comparison?.a ?? focus;
  const second = comparison?.b ?? family.find((key) => key !== first) ?? about.garments.find(({ key }) => key !== first)!.key;
  const start = (patch: Partial<Comparison>) => {
    const now = store(desk).comparison ?? { a: first, b: second, mode: "beside" as const, at: HALF };
    desk.store.set({ comparison: { ...now, ...patch } });
  };
  return [
    h("div.pair", {}, pick(about, "Left", first, (a) => start({ a })), pick(about, "Right", second, (b) => start({ b }))),
    h(
      "div.ways",
      {},
      press("Side by side", comparison?.mode === "beside", () => start({ mode: "beside" })),
      press("Wipe", comparison?.mode === "wipe", () => start({ mode: "wipe" })),
      comparison && button("Leave off", () => desk.store.set({ comparison: null })),
    ),
  ];
}

function store(desk: Desk): State {
  return desk.store.now;
}

function pick(about: About, words: string, chosen: string, choose: (key: string) => void): HTMLElement {
  const select = h<HTMLSelectElement>("select", {}, about.garments.map(({ key }) =>
    h("option", { value: key, selected: key === chosen }, nameOf(about, key))));
  select.addEventListener("change", () => choose(select.value));
  return h("label.field-row", {}, h("span", {}, words), select);
}

function press(words: string, isOn: boolean, act: () => void): HTMLElement {
  return button(words, act, { "aria-pressed": String(isOn) });
}

async function fill(desk: Desk, figures: HTMLElement): Promise<void> {
  const { comparison, about } = store(desk);
  if (!comparison) {
    replace(figures);
    return;
  }
  const { a, b } = comparison;
  if (!desk.source.isLive) {
    replace(figures, ...verdicts(about, [a, b]));
    return;
  }
  const { base, weights } = store(desk);
  try {
    const pack = await desk.source.request("compare", { base, weights, garments: [a, b] }).result;
    if (!pack || store(desk).comparison?.a !== a || store(desk).comparison?.b !== b) return;
    replace(figures, ...differences(pack.header));
  } catch (error) {
    desk.notices.fail((error as Error).message);
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
            h("tr", {}, h("th", { scope: "row" }, words, unit && h("span.unit", {}, `, ${unit}`)), h("td.number", {}, withUnit(first, "")), h("td.number", {}, withUnit(second, "")), h("td.number", {}, change(first, second))),
          )),
        )
      : h("p", {}, "Neither has a fault at this shape."),
    moved && h("p.quiet-words", {}, `Between the two the cloth moves by ${withUnit(moved.rms, "mm")} on average (root mean square), ${withUnit(moved.largest, "mm")} at most.`),
  ];
}

export function change(first: number, second: number): string {
  const difference = second - first;
  if (Math.abs(difference) < 1e-9) return "same";
  return `${difference > 0 ? "+" : ""}${withUnit(difference, "")}`;
}

function verdicts(about: About, keys: readonly string[]): HTMLElement[] {
  return keys.map((key) => {
    const garment = garmentOf(about, key);
    const severity = garment?.severity ?? "";
    return h("div.compare-verdict", {}, h("p.leaf-title", {}, nameOf(about, key)), h("p", {}, mark(severity), ` ${garment?.verdict || severityWords(severity)}`));
  });
}

function maker(desk: Desk): HTMLElement | null {
  if (!store(desk).about.can.includes("fit")) return null;
  const select = h<HTMLSelectElement>("select", { "aria-label": "Version to make" }, MAKES.map(({ words }, i) => h("option", { value: i }, words)));
  const make = button("Make it and compare", async () => {
    const { focus, about } = store(desk);
    const root = garmentOf(about, focus)?.variant_of ?? focus;
    const { words, asked } = MAKES[Number(select.value)];
    const values = { garment: root, method: null, repaired: false, opened: false, ...asked };
    const pack = await desk.notices.work(`Making ${nameOf(about, root)}, ${words}`, (tell) => desk.source.request("fit", values, tell));
    if (pack) awaitVariant(desk, root, pack.header.garment);
  });
  return h("div.maker", {}, h("p.leaf-title", {}, "Another version"), select, make);
}

/** Compare as soon as an About lists the variant. */
function awaitVariant(desk: Desk, root: string, key: string): void {
  const compare = () => {
    if (!garmentOf(store(desk).about, key)) return false;
    desk.store.set({ comparison: { a: root, b: key, mode: "beside", at: HALF } });
    return true;
  };
  if (compare()) return;
  let isDone = false;
  desk.store.on(["about"], () => {
    if (!isDone) isDone = compare();
  });
}

/** The names over the two sides, and the handle of the wipe. */
export function makeCompareOverlay(desk: Desk, margin: () => number): HTMLElement {
  const left = h("span.side-name.a"), right = h("span.side-name.b");
  const handle = h("div.wipe", { role: "slider", tabindex: 0, "aria-label": "Where the wipe stands", "aria-valuemin": 0, "aria-valuemax": 100 });
  const overlay = h("div.compare-overlay", {}, left, right, handle);
  const set = (at: number) => {
    const { comparison } = store(desk);
    if (comparison) desk.store.set({ comparison: { ...comparison, at: Math.min(1, Math.max(0, at)) } });
  };
  handle.addEventListener("pointerdown", (event) => handle.setPointerCapture(event.pointerId));
  handle.addEventListener("pointermove", (event) => {
    if (!handle.hasPointerCapture(event.pointerId)) return;
    const box = overlay.getBoundingClientRect();
    set((event.clientX - box.left - margin()) / (box.width - 2 * margin()));
  });
  handle.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -0.02, ArrowRight: 0.02, Home: -1, End: 1 }[event.key];
    if (step === undefined) return;
    event.preventDefault();
    set((store(desk).comparison?.at ?? HALF) + step);
  });
  desk.store.watch(["comparison", "about"], ({ comparison, about }) => {
    overlay.hidden = !comparison;
    if (!comparison) return;
    left.textContent = nameOf(about, comparison.a);
    right.textContent = nameOf(about, comparison.b);
    handle.hidden = comparison.mode !== "wipe";
    handle.setAttribute("aria-valuenow", String(Math.round(100 * comparison.at)));
    overlay.style.setProperty("--at", String(comparison.mode === "wipe" ? comparison.at : HALF));
    overlay.style.setProperty("--margin", `${margin()}px`);
  });
  return overlay;
}
