/** Where body, cloth and faults come from: a server, or the document itself. */

import type { About, Severity } from "./about.ts";
import type { Answers, FaultsAnswer, Requests, ShapeRequest } from "./schema.ts";
import type { BodyMesh, Cloth } from "./meshes.ts";
import type { Pack } from "./pack.ts";

/** Values of sliders that move joints, by name; they come before the pose. */
interface Slid {
  readonly sliders?: Readonly<Record<string, number>>;
}

/** A moment of an animation of the body file, by its index. */
export interface Moment extends Slid {
  readonly animation: number;
  readonly time: number;
}

export type Quaternion = readonly [number, number, number, number];

/** Joints turned from rest, by name. */
export interface Turned extends Slid {
  readonly turns: Readonly<Record<string, Quaternion>>;
}

/** One of the stances in which garments are looked at, by its index. */
export interface Standing extends Slid {
  readonly stance: number;
}

export type PoseChoice = Moment | Turned | Standing;

export interface ShapeQuery extends ShapeRequest {
  readonly base: number;
  readonly pose: PoseChoice | null;
}

/** Vertices of one shape, ready to be drawn; the arrays are the source's own and change with its next answer. */
export interface Followed {
  readonly body: Float32Array;
  readonly cloths: ReadonlyMap<string, Float32Array>;
}

/** What is wrong at one shape. */
export interface Faults {
  /** Values by `NAME/KEY`. */
  readonly layers: ReadonlyMap<string, Float32Array>;
  /** By garment, by fault; empty where the figures of this shape are not known. */
  readonly figures: FaultsAnswer["figures"];
  readonly severity: Readonly<Record<string, Severity>>;
  /** By garment, by tape level: its ease at the base and on this one; empty where it is not known. */
  readonly girths: FaultsAnswer["girths"];
  /** By garment, the label of the shape where its values were measured, when that was not the one asked for. */
  readonly measuredAt: Readonly<Record<string, string>>;
}

export interface Progress {
  readonly done: number;
  readonly of: number;
  readonly words: string;
}

/** Long work: its answer, or null when it was cancelled. */
export interface Task<Answer = Readonly<Record<string, unknown>>> {
  readonly result: Promise<Pack<Answer> | null>;
  cancel(): void;
}

export type Trouble = { readonly words: string; readonly again: (() => void) | null } | null;

export interface Source {
  readonly isLive: boolean;
  about(): Promise<About>;
  /** Hear of every later About. */
  onAbout(listener: (about: About) => void): void;
  onTrouble(listener: (trouble: Trouble) => void): void;
  onProgress(listener: (id: number, progress: Progress) => void): void;
  body(base: number): Promise<BodyMesh>;
  cloth(base: number, key: string): Promise<Cloth>;
  /** Forget what is kept of a garment, because it has changed. */
  forget(key: string): void;
  /** Follow a shape. `done` is called at once, later, or never when a newer request has overtaken this one. */
  follow(request: ShapeQuery, done: (followed: Followed) => void): void;
  /** The body alone at other weights, for its outline; asked only while nothing else waits. */
  outline(base: number, weights: readonly number[]): Promise<Float32Array | null>;
  /** Faults of a shape, the named layers among them; null when a newer request has overtaken this one. */
  faults(request: ShapeQuery, layers: readonly string[]): Promise<Faults | null>;
  /** Anything else that a server does; refused where there is none. */
  request<K extends keyof Requests>(what: K, values: Requests[K], onProgress?: (progress: Progress) => void): Task<Answers[K]>;
}
