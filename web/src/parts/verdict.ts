/** One line under the body: which shape this is, what is wrong with it, and the ways to other shapes. */

import type { Context } from "../context.ts";
import { garmentOf, gravestFirst, SEVERITIES, type ClusterAbout, type Severity } from "../data/about.ts";
import { withUnit } from "../draw/scale.ts";
import { button, h, replace } from "../dom.ts";
import { faultWords } from "../fault_words.ts";
import { nameOf, poseWords, shapeWords } from "../naming.ts";
import { graverPosed, gravestComplaint, type State } from "../state.ts";
import { goToBase, goToComplaint, goToWorst, showPosed, worstOf } from "./go_to.ts";
import { mark, severityWords } from "./marks.ts";

const BESIDE = 3; // so many other garments have a line of their own
const TOLD = 3; // faults that one line names
const SETTLED_MS = 700; // after which a new verdict is spoken
const SAME = 1e-6;

export function makeVerdict(context: Context): HTMLElement {
  const { store, source } = context;
  const line = h("p.verdict-line");
  const spoken = h("p.sr", { "aria-live": "polite" });
  const beside = h("div.verdict-beside");
  const shape = h("p.verdict-shape");
  store.watch(["weights", "joints", "about", "base", "pose"], ({ about, weights, joints, pose }) => {
    shape.textContent = ["At", shapeWords(about, weights, Infinity, joints), pose && `· ${poseWords(about, pose)}`].filter(Boolean).join(" ");
  });
  let timer = 0;
  store.watch(["faults", "isMeasured", "isConnected", "focus", "worn", "coming", "about"], (state) => {
    replace(line, ...sentence(state, source.isLive));
    replace(beside, ...others(state));
    clearTimeout(timer);
    if (state.isMeasured) timer = window.setTimeout(() => (spoken.textContent = `${line.textContent}. ${shape.textContent}.`), SETTLED_MS);
  });
  return h("div.verdict", {}, h("div.verdict-words", {}, line, beside, shape, spoken), makeWays(context));
}

function sentence(state: State, isLive: boolean): (Node | string)[] {
  const { about, focus, faults, isMeasured, worn, coming } = state;
  if (!about.garments.length) return ["No garment was opened. Start again and name garment files."];
  if (!worn.length || !garmentOf(about, focus)) return ["Nothing worn. Put a garment on in the list at the top."];
  const name = nameOf(about, focus);
  if (coming.includes(focus)) return [`${name}: being fitted …`];
  if (!isMeasured || !faults) return [unmeasured(state, name, isLive)];
  const told = wrongAt(state, focus, TOLD);
  if (told.length) return [mark(faults.severity[focus] ?? ""), ` ${name}: ${told.join("; ")}`];
  if (faults.figures[focus]) return [mark("clean"), ` ${name}: ${cleanWords(state)}`];
  return stored(state, name);
}

/** What is wrong with one garment at this shape, the gravest first. */
function wrongAt({ about, faults }: State, key: string, most: number): string[] {
  const bad = Object.entries(faults?.figures[key] ?? {}).filter(([, { severity }]) => severity && severity !== "clean");
  bad.sort((a, b) => rank(b[1].severity) - rank(a[1].severity));
  return bad.slice(0, most).map(([fault, { value, unit }]) => `${faultWords(about, fault)} ${value === null ? "" : withUnit(value, unit)}`.trim());
}

/** A line for each of the gravest others that are worn, and one for the rest: what is wrong is seen, whichever is being looked at. */
function others(state: State): HTMLElement[] {
  const { about, focus, faults, isMeasured, worn } = state;
  if (!isMeasured || !faults) return [];
  const beside = gravestFirst(worn.filter((key) => key !== focus && faults.figures[key]), (key) => faults.severity[key] ?? "");
  const lines = beside.slice(0, BESIDE).map((key) => {
    const told = wrongAt(state, key, 1);
    return h("p.verdict-other", {}, mark(faults.severity[key] ?? ""), ` ${nameOf(about, key)}: ${told[0] ?? "clean at this shape"}`);
  });
  const rest = beside.slice(BESIDE);
  if (rest.length) lines.push(h("p.verdict-other", {}, restWords(rest.map((key) => faults.severity[key] ?? ""))));
  return lines;
}

/** How many further garments are worn, and with how many of them something is wrong at this shape. */
export function restWords(severities: readonly Severity[]): string {
  const wrong = severities.filter((severity) => rank(severity) > rank("clean")).length;
  const all = severities.length === 1 ? "One more" : `${severities.length} more`;
  if (!wrong) return `${all}: clean at this shape`;
  return `${all}: ${wrong === severities.length ? "all" : wrong} with faults at this shape`;
}

function unmeasured({ isConnected }: State, name: string, isLive: boolean): string {
  if (!isLive) return name;
  return isConnected ? `${name}: measuring …` : `${name}: not measured, because the connection is gone`;
}

/** A shape without a fault; where others have one, that is said in the same breath. */
function cleanWords({ about, focus }: State): string {
  const severity = garmentOf(about, focus)?.severity ?? "";
  return rank(severity) > rank("clean") ? `clean at this shape, ${severity} at others` : "clean at this shape";
}

/** What a report knows of this shape. */
function stored(state: State, name: string): (Node | string)[] {
  const { about, focus, faults } = state;
  const severity = faults?.severity[focus] ?? "";
  const here = about.clusters.filter((cluster) => cluster.garment === focus && !cluster.stance && isHere(state, cluster.shape.weights));
  const told = worstOfEach(here).slice(0, TOLD);
  if (severity === "clean" && !told.length) return [mark("clean"), ` ${name}: ${cleanWords(state)}`];
  if (severity) return [mark(severity), ` ${name}: ${told.join("; ") || `${severity} at this shape`}`];
  const elsewhere = faults?.measuredAt[focus];
  return [elsewhere ? `${name}: this shape was not measured; the nearest that was is ${elsewhere}` : name];
}

/** One phrase per fault: its worst place, and in how many it is. */
function worstOfEach(clusters: readonly ClusterAbout[]): string[] {
  return [...new Set(clusters.map(({ place }) => place.fault))].map((fault) => {
    const places = clusters.filter((cluster) => cluster.place.fault === fault);
    const worst = places.reduce((a, b) => (Math.abs(b.place.value) > Math.abs(a.place.value) ? b : a));
    const words = `${worst.fault_words} ${withUnit(worst.place.value, worst.place.unit)}`.trim();
    return places.length > 1 ? `${words}, the worst of ${places.length} places` : words;
  });
}

function isHere(state: State, weights: readonly number[]): boolean {
  return weights.every((weight, k) => Math.abs(weight - state.weights[k]) < SAME);
}

function rank(severity: Severity): number {
  return SEVERITIES.indexOf(severity);
}

function makeWays(context: Context): HTMLElement {
  const { store } = context;
  const show = button("Show me the worst", () => {
    const { about } = store.now;
    const posed = graverPosed(about), gravest = gravestComplaint(about);
    if (posed) showPosed(context, posed);
    else if (gravest) goToComplaint(context, gravest);
  }, { class: "filled" });
  const worst = button("Worst shape", () => goToWorst(context));
  const base = button("Base body", () => goToBase(context));
  const select = h<HTMLSelectElement>("select", { "aria-label": "Go to a shape that was looked at" });
  select.addEventListener("change", () => {
    const shape = store.now.about.shapes[Number(select.value)];
    if (shape) store.set({ weights: [...shape.weights], cluster: null });
    select.value = "";
  });
  store.watch(["about", "focus"], ({ about, focus }) => {
    const checked = about.shapes.map((shape, i) => ({ shape, i })).filter(({ shape }) => shape.severity[focus]);
    checked.sort((a, b) => rank(b.shape.severity[focus]) - rank(a.shape.severity[focus]));
    replace(select, h("option", { value: "" }, "Other shapes"), checked.map(({ shape, i }) =>
      h("option", { value: i }, `${severityWords(shape.severity[focus])}: ${shape.label}`)));
    select.hidden = !checked.length;
    worst.disabled = worstOf(store.now) === null;
  });
  // One filled button, and only as long as nothing was chosen: it is where a newcomer begins.
  store.watch(["about", "cluster"], ({ about, cluster }) => (show.hidden = cluster !== null || (graverPosed(about) ?? gravestComplaint(about)) === null));
  const ways = h("div.ways", {}, show, worst, base, select);
  store.watch(["isConnected"], ({ isConnected }) => (ways.inert = !isConnected));
  return ways;
}
