/** `window.dressform`: what tests and the curious may read. Nothing can be changed through it. */

import { BODY } from "../stage/stage.ts";
import type { Context } from "../context.ts";
import type { ShapeUpdates } from "./shape_updates.ts";

export interface DevHook {
  /** Copy of the vertices as they are drawn, of a garment or ("") of the body; null where it is not drawn. */
  positions(key: string): Float32Array | null;
  /** Garments that can be drawn now. */
  keys(): string[];
  weights(): number[];
  /** Milliseconds from asking for the last shape to having it. */
  followMs(): number;
  /** Milliseconds from the last move of a slider to the end of the frame that shows it. */
  frameMs(): number;
  /** Milliseconds of the last frame: `waited` for it, and of the page's own work `placed`, `drawn` (given to the renderer), `over` (threads, pin). */
  spent(): { waited: number; placed: number; drawn: number; over: number };
  /** Milliseconds that the renderer takes to draw what is shown. */
  timeDrawing(): number;
  view(): unknown;
}

export function installDevHook(context: Context, shapes: ShapeUpdates): void {
  const { stage, store } = context;
  const hook: DevHook = {
    positions: (key) => stage.surfaces.get(key)?.points.slice() ?? null,
    keys: () => [...stage.surfaces.keys()].filter((key) => key !== BODY),
    weights: () => [...store.now.weights],
    followMs: () => shapes.followMs,
    frameMs: () => shapes.frameMs,
    spent: () => ({ ...stage.spent }),
    timeDrawing: () => stage.timeDrawing(),
    view: () => stage.orbit.view,
  };
  Object.defineProperty(window, "dressform", { value: Object.freeze(hook), configurable: true });
}
