/** The complaints, the worst first, with figure, cause and advice; a click goes to the place. */

import type { Context } from "../../context.ts";
import { type About, type ActionAbout, type ClusterAbout } from "../../data/about.ts";
import { withUnit } from "../../draw/scale.ts";
import { button, h, replaceKeepingFocus } from "../../dom.ts";
import { faultWords } from "../../fault_words.ts";
import { clusterOf, nameOf, shapeWords, spaced } from "../../naming.ts";
import { isShowable } from "../../state.ts";
import { makeComplaintSteps } from "../complaint_steps.ts";
import { goToComplaint, inOrder } from "../go_to.ts";
import { mark, severityWords } from "../marks.ts";
import { makeCheckProgress } from "../check_progress.ts";

const MAX_ACTIONS = 5; // so many actions stand before the fold
const MAX_LISTED = 40; // so many complaints are listed at once
const MAX_NAMED = 4; // sliders of a shape that are named
const PERCENT = 100;
const STEPS_HEIGHT = 60; // pixels that the bar above the list takes of the pane
const MM_PER_CM = 10;
const MIN_SHARE = 0.005; // shares below this are not shown

export function makeFaultsTab(context: Context): HTMLElement {
  const { store } = context;
  const list = h("ol.complaints");
  const element = h("div.faults-tab");
  const steps = makeComplaintSteps(context);
  const progress = makeCheckProgress(context);
  let isWhole = false;
  const lay = () => {
    const { about, cluster } = store.now;
    const all = inOrder(about);
    isWhole ||= all.findIndex(({ id }) => id === cluster) >= MAX_LISTED;
    const clusters = isWhole ? all : all.slice(0, MAX_LISTED);
    const rest = all.length - clusters.length;
    const more = rest > 0 && button(`Show ${rest} more`, () => {
      isWhole = true;
      lay();
    });
    replaceKeepingFocus(list, clusters.map((one) => entry(context, one, one.id === cluster)));
    const head = about.actions.length ? h("h3.every-place", {}, "Every place") : null;
    const parts = [steps, actions(context, about), head, list, more || null, shared(context, about)];
    replaceKeepingFocus(element, all.length ? parts : empty(about), progress);
  };
  store.watch(["about"], lay);
  store.watch(["isConnected"], ({ isConnected }) => (element.inert = !isConnected));
  store.watch(["cluster"], ({ cluster }) => {
    if (!isWhole && inOrder(store.now.about).findIndex(({ id }) => id === cluster) >= MAX_LISTED) lay();
    for (const item of list.children) {
      const isOpen = (item as HTMLElement).dataset.cluster === cluster;
      item.classList.toggle("open", isOpen);
      item.querySelector("button.complaint")?.setAttribute("aria-expanded", String(isOpen));
      if (isOpen) requestAnimationFrame(() => showWhole(item)); // by then its tab is open
    }
  });
  return element;
}

/** Scroll until all of a complaint is seen, or its beginning where it is longer than the room for it. */
function showWhole(item: Element): void {
  const pane = item.closest(".pane");
  const hasRoom = pane !== null && pane.scrollHeight > pane.clientHeight && item.clientHeight < pane.clientHeight - STEPS_HEIGHT;
  item.scrollIntoView({ block: hasRoom ? "nearest" : "start" }); // on a phone the page scrolls: to the same place each time
}

function empty({ check, garments }: About): HTMLElement | null {
  if (!garments.length) return h("p.empty", {}, "No garment was opened. Start again and name garment files.");
  if (check.state === "running") return null;
  const isChecked = garments.some((garment) => garment.severity);
  return h("p.empty", {}, isChecked ? "No fault was found at any shape that was checked." : "Nothing has been checked over the range yet. Move a slider, or check the whole range.");
}

/** What to do: few actions, each for all its places; the rest after a fold. */
function actions(context: Context, about: About): HTMLElement | null {
  if (!about.actions.length) return null;
  const list = (some: readonly ActionAbout[]) => h("ol.actions", {}, some.map((one) => actionEntry(context, about, one)));
  const rest = about.actions.slice(MAX_ACTIONS);
  const words = rest.length === 1 ? "One more action" : `${rest.length} more actions`;
  return h(
    "section.to-do",
    { "aria-label": "What to do" },
    h("h3", {}, "What to do"),
    list(about.actions.slice(0, MAX_ACTIONS)),
    rest.length ? h("details", {}, h("summary", {}, words), list(rest)) : null,
  );
}

function actionEntry(context: Context, about: About, action: ActionAbout): HTMLElement {
  const first = action.places.map((id) => clusterOf(about, id)).find((cluster) => cluster !== null);
  const words = `${nameOf(about, action.garment)}, action ${action.name}: ${action.where}`;
  return h(
    "li.action",
    {},
    first ? button(words, () => goToComplaint(context, first), { class: "text-button" }) : h("p", {}, words),
    h("p.complaint-grade", {}, mark(action.severity), ` ${severityWords(action.severity)}: ${action.cause}`),
    action.todo.map((todo, i) => h(action.is_offered ? "p.advice" : "p.no-cause", {}, i ? "Or: " : "", emphasised(todo))),
  );
}

function shared(context: Context, about: About): HTMLElement | null {
  const places = about.shared;
  if (!places.length) return null;
  const words = places.length === 1 ? "One place where several garments fail" : `${places.length} places where several garments fail`;
  const list = places.map((place) => {
    const clusters = place.clusters.map((id) => clusterOf(about, id)).filter((cluster) => cluster !== null);
    const garments = [...new Set(clusters.map((cluster) => nameOf(about, cluster.garment)))].join(", ");
    const where = [spaced(place.region), place.side, `${Math.round(place.height_mm / MM_PER_CM)} cm up`].filter(Boolean).join(", ");
    const go = button(where, () => clusters[0] && goToComplaint(context, clusters[0]), { class: "text-button" });
    return h("li", {}, go, h("p", {}, `${faultWords(about, place.fault)}: ${garments}. Probably because of ${place.suspect}.`));
  });
  return h("details.shared", {}, h("summary", {}, words), h("ul", {}, list));
}

function entry(context: Context, cluster: ClusterAbout, isOpen: boolean): HTMLElement {
  const { about } = context.store.now;
  const head = h(
    cluster.picture ? "button.complaint" : "button.complaint.bare",
    { type: "button", "aria-expanded": String(isOpen) },
    cluster.picture && h("img", { src: cluster.picture, alt: "" }),
    h(
      "span.complaint-words",
      {},
      h("span.complaint-what", {}, `${cluster.fault_words} `, h("b", {}, withUnit(cluster.place.value, cluster.place.unit))),
      h("span.complaint-where", {}, `${nameOf(about, cluster.garment)}, place ${cluster.name}: ${spaced(cluster.where || cluster.place.region)}`),
      h("span.complaint-grade", {}, mark(cluster.place.severity), ` ${severityWords(cluster.place.severity)}`, cluster.owner && `, caused by ${cluster.owner}`),
    ),
  );
  head.addEventListener("click", () => goToComplaint(context, cluster));
  const item = h("li", { "data-cluster": cluster.id }, head, h("div.complaint-body", {}, reasons(about, cluster)));
  item.classList.toggle("open", isOpen);
  return item;
}

function reasons(about: About, cluster: ClusterAbout): (HTMLElement | null)[] {
  const told = cluster.shares.filter((share) => Math.abs(share.share) >= MIN_SHARE);
  return [
    cluster.picture && !isShowable(about, cluster) ? h("img.unshown", { src: cluster.picture, alt: `${cluster.fault_words}: ${cluster.where}` }) : null,
    h("p", {}, `Worst at ${shapeWords(about, cluster.shape.weights, MAX_NAMED)}${cluster.stance && `, in the stance ${spaced(cluster.stance)}`}${seenWords(cluster)}.`),
    h(cluster.cause ? "p.cause" : "p.no-cause", {}, causeWords(cluster, about.check.state === "running")),
    cluster.advice ? h("p.advice", {}, emphasised(cluster.advice)) : null,
    cluster.repair ? h("p.repair", {}, "Or: ", emphasised(cluster.repair)) : null,
    told.length
      ? h("table.shares", {}, h("caption", {}, "How much of the fault each change removes"), told.map((share) =>
          h("tr", {}, h("td", {}, share.counterfactual), h("td.number", {}, withUnit(Math.round(PERCENT * share.share), "%", PERCENT))),
        ))
      : null,
  ];
}

/** The cause; where none was found, that, and what was tried. */
export function causeWords({ cause, shares }: ClusterAbout, isSearched = false): string {
  if (cause) return `Because: ${cause}.`;
  const best = shares[0];
  if (!best && isSearched) return "Its cause is not known yet: the check has still to look for it.";
  if (!best) return "No cause is given: nothing was swapped here to look for one.";
  if (best.share >= MIN_SHARE) {
    return `No cause was found: the best change that was tried removes ${Math.round(PERCENT * best.share)}\u202f% of it.`;
  }
  return shares.length === 1
    ? `No cause was found. Tried: ${best.counterfactual}; it removes none of it.`
    : `No cause was found: none of the ${shares.length} changes that were tried removes any of it.`;
}

/** Names that stand between backticks, set apart. */
function emphasised(words: string): (Node | string)[] {
  return words.split("`").map((part, i) => (i % 2 ? h("em", {}, spaced(part)) : part));
}

function seenWords({ seen }: ClusterAbout): string {
  return seen && seen > 1 ? `; seen at ${seen} of this garment’s checked shapes` : "";
}
