/** Which part of the canvas shows what: one picture, or two that are compared. */

import type { Comparison } from "../state.ts";

export interface Pass {
  readonly keys: readonly string[];
  /** Viewport, CSS pixels. */
  readonly left: number;
  readonly width: number;
  /** What of it is drawn. */
  readonly from: number;
  readonly to: number;
}

export interface Room {
  /** Of the canvas, CSS pixels. */
  readonly width: number;
  /** What other things cover on either side. */
  readonly margin: number;
}

/** Where each side of a comparison is drawn, and what it wears; one pass where nothing is compared. */
export function passesOf(comparison: Comparison | null, worn: readonly string[], { width, margin }: Room): Pass[] {
  if (!comparison) return [{ keys: worn, left: 0, width, from: 0, to: width }];
  const { a, b, mode, at } = comparison;
  if (mode === "beside") {
    const middle = width / 2, half = middle - margin;
    return [
      { keys: [a], left: middle - half, width: half, from: 0, to: middle },
      { keys: [b], left: middle, width: half, from: middle, to: width },
    ];
  }
  const edge = margin + at * (width - 2 * margin);
  return [
    { keys: [a], left: 0, width, from: 0, to: edge },
    { keys: [b], left: 0, width, from: edge, to: width },
  ];
}

/** Width over height of what is free for a body in a pass. */
export function freeAspect(pass: Pass, { width, margin }: Room, height: number): number {
  const free = pass.width === width ? width - 2 * margin : pass.width;
  return free / (height || 1);
}
