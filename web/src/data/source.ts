/** Where body, cloth and faults come from: a server, or the document itself. */

import type { About, Severity } from "./about.ts";
import type { BodyMesh, Cloth } from "./meshes.ts";
import type { Pack } from "./pack.ts";

/** A moment of an animation of the body file, by its index. */
export interface Moment {
  readonly animation: number;
  readonly time: number;
}

export type Quaternion = readonly [number, number, number, number];

/** Joints turned from rest, by name. */
export interface Turned {
  readonly turns: Readonly<Record<string, Quaternion>>;
}

export type PoseAsk = Moment | Turned;

export interface ShapeAsk {
  readonly base: number;
  readonly weights: readonly number[];
  readonly garments: readonly string[];
  readonly pose: PoseAsk | null;
}

/** Vertices of one shape, ready to be drawn; the arrays are the source's own and change with its next answer. */
export interface Followed {
  readonly body: Float32Array;
  readonly cloths: ReadonlyMap<string, Float32Array>;
}

export interface Figure {
  readonly value: number;
  readonly unit: string;
  readonly severity: Severity;
}

/** What is wrong at one shape. */
export interface Faults {
  /** Values by `NAME/KEY`. */
  readonly layers: ReadonlyMap<string, Float32Array>;
  /** By garment, by fault; empty where the figures of this shape are not known. */
  readonly figures: Readonly<Record<string, Readonly<Record<string, Figure>>>>;
  readonly severity: Readonly<Record<string, Severity>>;
  /** By garment, by tape level: its ease at the base and on this one; empty where it is not known. */
  readonly girths: Readonly<Record<string, Readonly<Record<string, { base_mm: number; shape_mm: number }>>>>;
  /** By garment, the label of the shape where its values were measured, when that was not the one asked for. */
  readonly measuredAt: Readonly<Record<string, string>>;
}

export interface Progress {
  readonly done: number;
  readonly of: number;
  readonly words: string;
}

/** Long work: its answer, or null when it was cancelled. */
export interface Task {
  readonly result: Promise<Pack | null>;
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
  /** Follow a shape. `done` is called at once, later, or never when a newer ask has overtaken this one. */
  follow(ask: ShapeAsk, done: (followed: Followed) => void): void;
  /** The body alone at other weights, for its outline; asked only while nothing else waits. */
  outline(base: number, weights: readonly number[]): Promise<Float32Array | null>;
  /** Faults of a shape, the named layers among them; null when a newer ask has overtaken this one. */
  faults(ask: ShapeAsk, layers: readonly string[]): Promise<Faults | null>;
  /** Anything else that a server does; refused where there is none. */
  ask(what: string, values?: Readonly<Record<string, unknown>>, onProgress?: (progress: Progress) => void): Task;
}
