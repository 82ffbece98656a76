/** What is looked at, kept in the address: a reload shows it again, and a link shows it to others. */

import type { Context } from "../context.ts";
import { garmentOf, type About } from "../data/about.ts";
import { MOST_GARMENTS } from "../data/schema.ts";
import type { PoseChoice } from "../data/source.ts";
import type { View } from "../stage/orbit.ts";
import type { Mark, State } from "../state.ts";

const REST_MS = 350;
const SLIDER = "slider.";
const JOINT = "joint.";
const DIGITS = 6;

/** The part of the state that an address holds. */
export type Place = Partial<Pick<State, "base" | "weights" | "joints" | "pose" | "worn" | "focus" | "layer" | "cluster" | "mark">> & { view?: View };

/** The state as the part of an address after "#". */
export function written(state: State, view: View): string {
  const { about, base, weights, joints, pose, worn, focus, layer, cluster, mark } = state;
  const out = new URLSearchParams();
  if (base !== about.base) out.set("base", about.bases[base] ?? "");
  about.sliders.forEach(({ name }, k) => weights[k] && out.set(SLIDER + name, String(rounded(weights[k]))));
  about.joint_sliders.forEach(({ name }, k) => joints[k] && out.set(JOINT + name, String(rounded(joints[k]))));
  if (pose && "stance" in pose) out.set("stance", about.stances[pose.stance]?.name ?? "");
  if (pose && "animation" in pose) out.set("moment", `${about.animations[pose.animation]?.name ?? ""} ${rounded(pose.time)}`);
  for (const key of worn) out.append("worn", key);
  if (!worn.length) out.set("worn", "");
  if (focus) out.set("garment", focus);
  if (layer) out.set("layer", layer);
  if (cluster) out.set("complaint", cluster);
  if (mark) out.set("pin", JSON.stringify([mark.garment, mark.position.map(rounded), mark.vertex, mark.words]));
  out.set("eye", view.position.map(rounded).join(" "));
  out.set("at", view.target.map(rounded).join(" "));
  return out.toString();
}

/** What an address says of an About; names that the About lacks, and what cannot be read, are left out. */
export function read(address: string, about: About): Place | null {
  const said = new URLSearchParams(address.replace(/^#/, ""));
  const position = triple(said.get("eye")), target = triple(said.get("at"));
  if (!position || !target) return null; // not an address that a page wrote
  const worn = said.getAll("worn").filter((key) => garmentOf(about, key)).slice(0, MOST_GARMENTS);
  const focus = said.get("garment") ?? "";
  const layer = said.get("layer");
  const cluster = said.get("complaint");
  const base = about.bases.indexOf(said.get("base") ?? "");
  return {
    base: base < 0 ? about.base : base,
    weights: about.sliders.map(({ name, low, high }) => clamped(Number(said.get(SLIDER + name)), low, high)),
    joints: about.joint_sliders.map(({ name, low, high }) => clamped(Number(said.get(JOINT + name)), low, high)),
    pose: poseOf(said, about),
    worn,
    focus: garmentOf(about, focus) ? focus : (worn[0] ?? ""),
    layer: about.layers.some(({ name }) => name === layer) ? layer : null,
    cluster: about.clusters.some(({ id }) => id === cluster) ? cluster : null,
    mark: markOf(said.get("pin"), about),
    view: { position, target },
  };
}

/** Keep the address true while the page is used, and follow it when somebody changes it. */
export function keepAddress({ store, stage }: Context, afterFrame: (act: () => void) => void): void {
  let timer = 0;
  let ours = "";
  const write = () => {
    ours = `#${written(store.now, stage.orbit.view)}`;
    history.replaceState(null, "", ours);
  };
  const later = () => {
    clearTimeout(timer);
    timer = window.setTimeout(write, REST_MS);
  };
  store.on(["base", "weights", "joints", "pose", "worn", "focus", "layer", "cluster", "mark"], later);
  let seen = stage.orbit.view;
  afterFrame(() => {
    const { view } = stage.orbit;
    if (String([view.position, view.target]) !== String([seen.position, seen.target])) later();
    seen = view;
  });
  addEventListener("hashchange", () => {
    if (location.hash === ours) return;
    const place = read(location.hash, store.now.about);
    if (place) go(store.now, place);
  });

  function go(now: State, { view, ...patch }: Place): void {
    store.set({ ...now, ...patch, comparison: null });
    if (view) stage.orbit.view = view;
  }
}

/** Joints that were turned by hand are not kept. */
function poseOf(said: URLSearchParams, about: About): PoseChoice | null {
  const stance = about.stances.findIndex(({ name }) => name === said.get("stance"));
  if (stance >= 0) return { stance };
  const [, name, time] = /^(.*) (\S+)$/.exec(said.get("moment") ?? "") ?? [];
  const animation = about.animations.findIndex((one) => one.name === name);
  return animation < 0 ? null : { animation, time: clamped(Number(time), 0, about.animations[animation].duration_s) };
}

function markOf(text: string | null, about: About): Mark | null {
  try {
    const [garment, position, vertex, words] = JSON.parse(text ?? "") as [string, [number, number, number], number, string];
    const isKnown = garment === "" || garmentOf(about, garment) !== undefined;
    return isKnown && position.every(Number.isFinite) && position.length === 3 ? { garment, position, vertex: Number(vertex), words: String(words) } : null;
  } catch {
    return null;
  }
}

function triple(text: string | null): [number, number, number] | null {
  const numbers = (text ?? "").split(" ").filter(Boolean).map(Number);
  return numbers.length === 3 && numbers.every(Number.isFinite) ? [numbers[0], numbers[1], numbers[2]] : null;
}

function rounded(value: number): number {
  return Number(value.toFixed(DIGITS));
}

function clamped(value: number, low: number, high: number): number {
  return Number.isFinite(value) ? Math.min(high, Math.max(low, value)) : 0;
}
