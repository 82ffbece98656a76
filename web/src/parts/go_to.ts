/** Ways to a shape or a place: a complaint at its worst, the worst shape of a garment, the base body, up close. */

import { Vector3 } from "three";
import type { Context } from "../context.ts";
import { garmentOf, gravestFirst, SEVERITIES, type About, type ClusterAbout, type PosedShapeAbout, type Severity } from "../data/about.ts";
import { withUnit } from "../draw/scale.ts";
import { layerOfFault } from "../fault_words.ts";
import { nameOf, poseName, spaced } from "../naming.ts";
import { isShowable, stillJoints, type State } from "../state.ts";

const NEAR = 0.95; // metres from which a place is looked at
const EYE_LEVEL = 0.06; // radians above the place

/** Stand at the worst shape of a complaint, before the place, with the layer that shows it. */
export function goToComplaint(context: Context, cluster: ClusterAbout): void {
  const { store } = context;
  if (!isShowable(store.now.about, cluster)) {
    openUnshown(context, cluster);
    return;
  }
  const layer = layerOfFault(store.now.about, cluster.place.fault) ?? store.now.layer;
  const mark = { garment: cluster.garment, position: cluster.place.position_m, vertex: cluster.place.vertex, words: cluster.where };
  const worn = { worn: [cluster.garment], focus: cluster.garment }; // nothing else may hide the place
  const stance = cluster.stance ? store.now.about.stances.findIndex(({ name }) => name === cluster.stance) : -1;
  const pose = stance < 0 ? null : { stance };
  const joints = stillJoints(store.now.about);
  store.set({ ...worn, weights: [...cluster.shape.weights], joints, pose, layer, cluster: cluster.id, mark, comparison: null });
  faceMark(context);
}

/** Every complaint in the order in which the list has them: the gravest first. */
export function inOrder({ clusters }: About): ClusterAbout[] {
  return gravestFirst(clusters, ({ place }) => place.severity);
}

/** Go on to the next complaint, or back to the one before; round at the ends. */
export function stepComplaint(context: Context, by: 1 | -1): void {
  const { about, cluster } = context.store.now;
  const order = inOrder(about);
  const here = order.findIndex(({ id }) => id === cluster);
  const next = here < 0 ? (by > 0 ? 0 : order.length - 1) : (here + by + order.length) % order.length;
  if (order[next]) goToComplaint(context, order[next]);
}

/** A complaint in a stance that this page cannot take: its picture shows it, and nothing else pretends to. */
function openUnshown({ store, notices }: Context, cluster: ClusterAbout): void {
  store.set({ worn: [cluster.garment], focus: cluster.garment, cluster: cluster.id, mark: null, comparison: null });
  notices.say(`Seen in the stance “${spaced(cluster.stance)}”, which a report cannot take: the picture beside the complaint shows it.`);
}

/** Look at the pinned place, or else at the garment, from near by. */
export function goNear(context: Context): void {
  const { mark, focus } = context.store.now;
  if (mark) faceMark(context);
  else context.stage.frameGarment(focus);
}

function faceMark({ store, stage }: Context): void {
  const place = new Vector3(...(store.now.mark?.position ?? [0, 0, 0]));
  stage.orbit.glideTo(place, NEAR, Math.atan2(place.x, place.z), EYE_LEVEL);
}

export function goToBase({ store }: Context): void {
  const { about } = store.now;
  store.set({ weights: about.sliders.map(() => 0), joints: stillJoints(about), cluster: null, mark: null, pose: null });
}

/** The worst that was found of the garment that is looked at in any stance, or null. */
export function worstPosed({ about, focus }: State): PosedShapeAbout | null {
  return about.posed.find(({ garment }) => garment === focus) ?? null;
}

/** Stand as and at the shape at which a garment was looked at, with the layer of what is wrong there. */
export function goToPosed({ store }: Context, posed: PosedShapeAbout): void {
  const layer = (posed.words && layerOfFault(store.now.about, posed.fault)) || store.now.layer;
  const { garment, stance, weights, joints } = posed;
  const pose = stance === null ? null : { stance };
  store.set({ worn: [garment], focus: garment, weights: [...weights], joints: [...joints], pose, layer, cluster: null, mark: null, comparison: null });
}

/** The same, and say what is wrong there. */
export function showPosed(context: Context, posed: PosedShapeAbout): void {
  goToPosed(context, posed);
  const { about } = context.store.now;
  if (posed.words) context.notices.say(`${nameOf(about, posed.garment)} at its worst: ${posed.words}, ${poseName(about, posed)}.`);
}

/** Stand at the garment's worst shape, without what might hide its fault, and say both. */
export function goToWorst(context: Context): void {
  const { store, notices } = context;
  const before = store.now;
  const posed = worstPosed(before), weights = worstOf(before);
  if (!weights) return;
  const stance = posed && isGraverThanRest(before, posed) ? posed : null;
  const { about, focus, worn } = before;
  const others = worn.filter((key) => key !== focus);
  const found = stance ? null : complaintAt(before, weights);
  if (stance) goToPosed(context, stance);
  else {
    const layer = (found && layerOfFault(about, found.place.fault)) || before.layer;
    store.set({ weights: [...weights], joints: stillJoints(about), pose: null, worn: [focus], layer, comparison: null });
  }
  const fault = stance ? `${stance.words}, ${poseName(about, stance)}` : found && `${found.fault_words} ${withUnit(found.place.value, found.place.unit)}`.trim();
  const said = fault ? `${nameOf(about, focus)} at its worst: ${fault}.` : "";
  if (!others.length) {
    if (said) notices.say(said);
    return;
  }
  const names = others.map((key) => nameOf(about, key)).join(", ");
  notices.say(`${said} Taken off, so that nothing hides it: ${names}.`.trim(), {
    words: "Put back on",
    act: () => store.set({ worn: [...new Set([...store.now.worn, ...others])] }),
  });
}

function isGraverThanRest({ about, focus }: State, posed: PosedShapeAbout): boolean {
  const index = garmentOf(about, focus)?.worst ?? null;
  const rest: Severity = index === null ? "" : (about.shapes[index]?.severity[focus] ?? "");
  return SEVERITIES.indexOf(posed.severity) > SEVERITIES.indexOf(rest);
}

/** The gravest complaint about the garment at a shape, or null. */
function complaintAt({ about, focus }: State, weights: readonly number[]): ClusterAbout | null {
  const here = about.clusters.filter(({ garment, shape, stance }) => garment === focus && !stance && shape.weights.every((weight, k) => weight === weights[k]));
  return gravestFirst(here, ({ place }) => place.severity)[0] ?? null;
}

/** Weights of the worst shape of the garment that is looked at, or null where none was checked. */
export function worstOf({ about, focus }: State): number[] | null {
  const index = garmentOf(about, focus)?.worst;
  if (index !== undefined && index !== null) return about.shapes[index]?.weights ?? null;
  return about.clusters.find((cluster) => cluster.garment === focus && !cluster.stance)?.shape.weights ?? null;
}
