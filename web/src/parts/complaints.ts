/** The complaints: every cluster, the worst first, with figure, cause and advice; a click flies there. */

import { Vector3 } from "three";
import { clusterOf, nameOf, shapeWords, type Desk } from "../app/desk.ts";
import { withUnit } from "../draw/scale.ts";
import { button, h, replaceKeepingFocus } from "../dom.ts";
import { gravestFirst, type About, type ClusterAbout } from "../data/about.ts";
import { faultWords } from "./fault_words.ts";
import { mark, severityWords } from "./marks.ts";

const NEAR = 0.95; // metres from which a place is looked at
const LAYER_OF_FAULT: Readonly<Record<string, string>> = {
  exposed: "exposed",
  inside: "depth",
  depth: "depth",
  pucker: "pucker",
  stretch: "stretch",
  clearance: "clearance_change",
};
const MOST = 40; // so many complaints are listed at once
const FIRST_CHECK = 0; // id of the check that nobody asked for
const CHECK_WORDS = {
  running: "Looking for faults over the whole range. The sliders work meanwhile.",
  done: "",
  none: "",
  stopped: "The check was stopped: what it had found is listed.",
  failed: "The check could not be finished: what it had found is listed.",
} as const;
const NAMED = 4; // sliders of a shape that are named
const PERCENT = 100;
const MM_PER_CM = 10;
const TOLD = 0.005; // shares below this are not told

export function makeComplaints(desk: Desk): HTMLElement {
  const { store } = desk;
  const list = h("ol.complaints");
  const element = h("div.faults-leaf");
  const progress = makeProgress(desk);
  let isWhole = false;
  const lay = () => {
    const { about, cluster } = store.now;
    const all = gravestFirst(about.clusters, ({ place }) => place.severity);
    const clusters = isWhole ? all : all.slice(0, MOST);
    const rest = all.length - clusters.length;
    const more = rest > 0 && button(`Show the other ${rest}`, () => {
      isWhole = true;
      lay();
    });
    replaceKeepingFocus(list, clusters.map((one) => entry(desk, one, one.id === cluster)));
    replaceKeepingFocus(element, all.length ? [shared(desk, about), list, more || null] : empty(about), progress);
  };
  store.watch(["about"], lay);
  store.on(["cluster"], ({ cluster }) => {
    for (const item of list.children) item.classList.toggle("open", (item as HTMLElement).dataset.cluster === cluster);
    for (const head of list.querySelectorAll("button.complaint")) {
      head.setAttribute("aria-expanded", String(head.closest("li")?.dataset.cluster === cluster));
    }
  });
  return element;
}

/** How far the check over the whole range is, with a way to stop it; or a way to begin it anew. */
function makeProgress(desk: Desk): HTMLElement {
  const words = h("p"), bar = h<HTMLProgressElement>("progress", { "aria-label": "Looking for faults over the whole range" });
  const stop = button("Stop looking", () => void desk.source.request("cancel", { of: FIRST_CHECK }).result.catch(() => undefined));
  const again = button("Check the whole range again", () => void desk.source.request("check", {}).result.catch((error: Error) => desk.notices.fail(error.message)));
  const element = h("div.checking", {}, words, bar, stop, again);
  desk.store.watch(["about"], ({ about: { check, garments } }) => {
    const runs = check?.state === "running";
    element.hidden = !check || !garments.length;
    bar.hidden = stop.hidden = !runs;
    again.hidden = runs;
    words.textContent = check ? CHECK_WORDS[check.state] : "";
  });
  desk.source.onProgress((id, { done, of, words: now }) => {
    if (id !== FIRST_CHECK) return;
    words.textContent = now ? `${now}. The sliders work meanwhile.` : CHECK_WORDS.running;
    if (of > 0) Object.assign(bar, { max: of, value: done });
    else bar.removeAttribute("value");
  });
  return element;
}

function empty({ check, garments }: About): HTMLElement | null {
  if (!garments.length) return h("p.empty", {}, "No garment was opened. Start again and name garment files.");
  if (check?.state === "running") return null;
  const checked = garments.some((garment) => garment.severity);
  return h("p.empty", {}, checked ? "Nothing to complain of: no fault at any shape that was looked at." : "Nothing has been checked over the range yet.");
}

function shared(desk: Desk, about: About): HTMLElement | null {
  const places = about.shared;
  if (!places.length) return null;
  const words = places.length === 1 ? "One place where several garments fail" : `${places.length} places where several garments fail`;
  const list = places.map((place) => {
    const clusters = place.clusters.map((id) => clusterOf(about, id)).filter((cluster) => cluster !== null);
    const garments = [...new Set(clusters.map((cluster) => nameOf(about, cluster.garment)))].join(", ");
    const where = [place.region.replaceAll("_", " "), place.side, `${Math.round(place.height_mm / MM_PER_CM)} cm up`].filter(Boolean).join(", ");
    const go = h("button.text-button", { type: "button" }, where);
    go.addEventListener("click", () => clusters[0] && goTo(desk, clusters[0]));
    return h("li", {}, go, h("p", {}, `${faultWords(about, place.fault)}: ${garments}. Suspect: ${place.suspect}.`));
  });
  return h("details.shared", {}, h("summary", {}, words), h("ul", {}, list));
}

function entry(desk: Desk, cluster: ClusterAbout, isOpen: boolean): HTMLElement {
  const { about } = desk.store.now;
  const head = h(
    cluster.picture ? "button.complaint" : "button.complaint.bare",
    { type: "button", "aria-expanded": String(isOpen) },
    cluster.picture && h("img", { src: cluster.picture, alt: "" }),
    h(
      "span.complaint-words",
      {},
      h("span.complaint-what", {}, `${cluster.fault_words} `, h("b", {}, withUnit(cluster.place.value, cluster.place.unit))),
      h("span.complaint-where", {}, `${nameOf(about, cluster.garment)}: ${(cluster.where || cluster.place.region).replaceAll("_", " ")}`),
      h("span.complaint-grade", {}, mark(cluster.place.severity), ` ${severityWords(cluster.place.severity)}`, cluster.owner && `, by ${cluster.owner}`),
    ),
  );
  head.addEventListener("click", () => goTo(desk, cluster));
  const item = h("li", { "data-cluster": cluster.id }, head, h("div.complaint-body", {}, reasons(about, cluster)));
  item.classList.toggle("open", isOpen);
  return item;
}

function reasons(about: About, cluster: ClusterAbout): (HTMLElement | null)[] {
  const told = cluster.shares.filter((share) => Math.abs(share.share) >= TOLD);
  return [
    h("p", {}, `At its worst at ${shapeWords(about, cluster.shape.weights, NAMED)}${seenWords(cluster)}.`),
    cluster.cause ? h("p", {}, h("span.cause", {}, `Because: ${cluster.cause}.`)) : null,
    cluster.advice ? h("p.advice", {}, emphasised(cluster.advice)) : null,
    cluster.repair ? h("p.repair", {}, "Or: ", emphasised(cluster.repair)) : null,
    told.length
      ? h("table.shares", {}, h("caption", {}, "How much goes away when one thing is swapped"), told.map((share) =>
          h("tr", {}, h("td", {}, share.counterfactual), h("td.number", {}, `${Math.round(PERCENT * share.share)}\u202f%`)),
        ))
      : null,
  ];
}

/** Names that stand between backticks, set apart. */
function emphasised(words: string): (Node | string)[] {
  return words.split("`").map((part, i) => (i % 2 ? h("em", {}, part.replaceAll("_", " ")) : part));
}

function seenWords({ seen }: ClusterAbout): string {
  return seen && seen > 1 ? `; seen at ${seen} of the shapes that were looked at` : "";
}

/** Stand at the worst shape of a cluster, before the place, with the layer that shows it. */
export function goTo(desk: Desk, cluster: ClusterAbout): void {
  const { store, stage } = desk;
  const wanted = LAYER_OF_FAULT[cluster.place.fault];
  const layer = store.now.about.layers.some(({ name }) => name === wanted) ? wanted : store.now.layer;
  const mark = { garment: cluster.garment, position: cluster.place.position_m, vertex: cluster.place.vertex, words: cluster.where };
  const worn = { worn: [cluster.garment], focus: cluster.garment }; // nothing else may hide the place
  store.set({ ...worn, weights: [...cluster.shape.weights], pose: null, layer, cluster: cluster.id, mark, comparison: null });
  const place = new Vector3(...cluster.place.position_m);
  stage.orbit.glideTo(place, NEAR, Math.atan2(place.x, place.z), 0.06);
}
