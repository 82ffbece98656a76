/** `window.dressform`: a small hatch to look in, for tests and for the curious. Nothing can be changed through it. */

import { BODY } from "../stage/stage.ts";
import type { Desk } from "./desk.ts";
import type { Following } from "./following.ts";

export interface Hatch {
  /** Copy of the vertices as they are drawn, of a garment or ("") of the body; null where it is not drawn. */
  positions(key: string): Float32Array | null;
  /** Garments that can be drawn now. */
  keys(): string[];
  weights(): number[];
  /** Milliseconds from asking for the last shape to having it. */
  followMs(): number;
  /** Milliseconds from the last turn of a slider to the end of the frame that shows it. */
  frameMs(): number;
  view(): unknown;
}

export function openHatch(desk: Desk, following: Following): void {
  const { stage, store } = desk;
  const hatch: Hatch = {
    positions: (key) => stage.surfaces.get(key)?.points.slice() ?? null,
    keys: () => [...stage.surfaces.keys()].filter((key) => key !== BODY),
    weights: () => [...store.now.weights],
    followMs: () => following.followMs,
    frameMs: () => following.frameMs,
    view: () => stage.orbit.view,
  };
  Object.defineProperty(window, "dressform", { value: Object.freeze(hatch), configurable: true });
}
