/** What is looked at: one frozen value, and who wants to know when which part of it changes. */

import { gravestFirst, SEVERITIES, type About, type ClusterAbout, type PosedShapeAbout } from "./data/about.ts";
import type { Faults, PoseChoice } from "./data/source.ts";

const FEW = 5; // so many garments are taken for one outfit; more for a wardrobe to choose from
const SAME_PLACE = 0.1; // metres between where a complaint was and where it is taken for the same
const FAULTY = SEVERITIES.indexOf("slight");

export interface Comparison {
  readonly a: string;
  readonly b: string;
  readonly mode: "wipe" | "beside";
  /** Where the wipe stands, 0 (all B) to 1 (all A). */
  readonly at: number;
}

/** A place that is spoken of. */
export interface Mark {
  /** Key of the garment, or "" on the skin. */
  readonly garment: string;
  readonly position: readonly [number, number, number];
  readonly vertex: number;
  readonly words: string;
}

export interface State {
  readonly about: About;
  readonly base: number;
  readonly weights: readonly number[];
  /** Values of the sliders that move joints. */
  readonly joints: readonly number[];
  readonly pose: PoseChoice | null;
  /** Garments that are drawn, when nothing is compared. */
  readonly worn: readonly string[];
  /** The garment that complaints, charts and alterations are about. */
  readonly focus: string;
  readonly layer: string | null;
  readonly cluster: string | null;
  readonly mark: Mark | null;
  readonly comparison: Comparison | null;
  /** What was last measured, and whether it is of the shape that is shown. */
  readonly faults: Faults | null;
  readonly isMeasured: boolean;
  /** Whether strokes on the cloth paint its strength. */
  readonly painting: boolean;
  /** Slider under pointer or keyboard focus, or null. */
  readonly slider: number | null;
  /** Garments that are being fitted or fetched, and cannot be drawn yet. */
  readonly coming: readonly string[];
  /** Whether there is a program that answers; a report needs none. */
  readonly isConnected: boolean;
}

type Listener = (state: State, before: State) => void;

export class Store {
  #state: State;
  readonly #listeners: { keys: readonly (keyof State)[]; listener: Listener }[] = [];

  constructor(first: State) {
    this.#state = first;
  }

  get now(): State {
    return this.#state;
  }

  set(patch: Partial<State>): void {
    const before = this.#state;
    this.#state = Object.freeze({ ...before, ...patch });
    for (const { keys, listener } of this.#listeners) {
      if (keys.some((key) => this.#state[key] !== before[key])) listener(this.#state, before);
    }
  }

  /** Call `listener` whenever one of `keys` has changed. */
  on(keys: readonly (keyof State)[], listener: Listener): void {
    this.#listeners.push({ keys, listener });
  }

  /** The same, and once at the start. */
  watch(keys: readonly (keyof State)[], listener: Listener): void {
    this.on(keys, listener);
    listener(this.#state, this.#state);
  }

  setWeight(index: number, weight: number): void {
    if (this.#state.weights[index] === weight) return;
    const weights = [...this.#state.weights];
    weights[index] = weight;
    this.set({ weights });
  }

  setJoint(index: number, value: number): void {
    if (this.#state.joints[index] === value) return;
    const joints = [...this.#state.joints];
    joints[index] = value;
    this.set({ joints });
  }
}

/** Sliders that move joints, all at 0. */
export function stillJoints(about: About): readonly number[] {
  return about.joint_sliders.map(() => 0);
}

/** Those that are not at 0, by name; null where all are. */
export function slidBy(about: About, joints: readonly number[]): Record<string, number> | null {
  const moved = about.joint_sliders.flatMap(({ name }, k) => (joints[k] ? [[name, joints[k]] as const] : []));
  return moved.length ? Object.fromEntries(moved) : null;
}

let stood: { pose: PoseChoice | null; joints: readonly number[]; as: PoseChoice | null } | null = null;

/** How the body stands: its pose, with the sliders that move joints. The same object for the same two. */
export function standing({ about, pose, joints }: Pick<State, "about" | "pose" | "joints">): PoseChoice | null {
  if (stood?.pose === pose && stood.joints === joints) return stood.as;
  const sliders = slidBy(about, joints);
  const as = sliders ? { ...(pose ?? { turns: {} }), sliders } : pose;
  stood = { pose, joints, as };
  return as;
}

/** Every garment that is drawn; two that are compared stand without the rest, which might hide them. */
export function drawnKeys(state: State): readonly string[] {
  const { comparison, worn } = state;
  return comparison ? [...new Set([comparison.a, comparison.b])] : worn;
}

/** Whether the page can show where a complaint is: a report cannot take the stance in which some are seen. */
export function isShowable({ stances }: Pick<About, "stances">, { stance }: Pick<ClusterAbout, "stance">): boolean {
  return !stance || stances.some(({ name }) => name === stance);
}

/** The gravest complaint that the page can show, or null where there is none. */
export function gravestComplaint(about: About): ClusterAbout | null {
  const shown = about.clusters.filter((cluster) => isShowable(about, cluster));
  const first = gravestFirst(shown, ({ place }) => place.severity)[0];
  return first && SEVERITIES.indexOf(first.place.severity) >= FAULTY ? first : null;
}

/** Id of the open complaint in a newer About, which may number complaints anew; null where it is no longer among them. */
export function carriedOver({ about, cluster: id }: Pick<State, "about" | "cluster">, next: About): string | null {
  const open = about.clusters.find((one) => one.id === id);
  if (!open || about.clusters === next.clusters) return id;
  const like = next.clusters.filter((one) => one.garment === open.garment && one.place.fault === open.place.fault);
  const away = (one: ClusterAbout) => Math.hypot(...one.place.position_m.map((at, axis) => at - open.place.position_m[axis]));
  const nearest = like.reduce<ClusterAbout | null>((best, one) => (best && away(best) <= away(one) ? best : one), null);
  return nearest && away(nearest) <= SAME_PLACE ? nearest.id : null;
}

/** The worst of any garment in a stance where it is graver than every complaint, as the search for causes asks few stances; or null. */
export function graverPosed(about: About): PosedShapeAbout | null {
  const first = gravestFirst(about.posed.filter(({ stance }) => stance === null || stance < about.stances.length), ({ severity }) => severity)[0];
  const known = Math.max(FAULTY, SEVERITIES.indexOf(gravestComplaint(about)?.place.severity ?? ""));
  return first && SEVERITIES.indexOf(first.severity) > known ? first : null;
}

/** What a page shows first: the base body, in the garment of the gravest complaint; dressed where there is none. */
export function firstState(about: About): State {
  const own = about.garments.filter((garment) => !garment.variant_of);
  const marked = own.filter((garment) => garment.worn);
  const outfit = marked.length ? marked : own;
  const faulty = gravestComplaint(about)?.garment;
  const gravest = faulty ?? gravestFirst(outfit, ({ severity }) => severity)[0]?.key ?? "";
  const worn = outfit.length <= FEW && faulty === undefined ? outfit.map(({ key }) => key) : [gravest];
  return {
    about,
    base: about.base,
    weights: about.sliders.map(() => 0),
    joints: stillJoints(about),
    pose: null,
    worn,
    focus: gravest,
    layer: null,
    cluster: null,
    mark: null,
    comparison: null,
    faults: null,
    isMeasured: false,
    painting: false,
    slider: null,
    coming: [],
    isConnected: true,
  };
}
