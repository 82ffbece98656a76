/** Pointer, wheel and keys on the picture, turned into moves of the orbit. */

import type { Orbit } from "./orbit.ts";

const KEY_TURN = 24; // pixels that one key press stands for
const KEY_ZOOM = 0.88;
const STILL = 5; // pixels that a press may move and still be a press

export interface Gestures {
  /** Whether a press paints instead of turning. */
  readonly paints: () => boolean;
  readonly hover: (x: number, y: number) => void;
  readonly leave: () => void;
  readonly press: (x: number, y: number) => void;
  readonly stroke: (x: number, y: number) => void;
  readonly release: () => void;
  /** Pressed and lifted without moving. */
  readonly tap: (x: number, y: number) => void;
  /** A key that has no other meaning; whether it was taken. */
  readonly key: (key: string) => boolean;
}

export function listen(canvas: HTMLCanvasElement, orbit: Orbit, gestures: Gestures): void {
  const pointers = new Map<number, { x: number; y: number }>();
  let spread = 0;
  let strokes = false;
  let travel = 0;

  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    pointers.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    spread = 0;
    travel = pointers.size > 1 ? STILL : 0;
    strokes = pointers.size === 1 && event.button === 0 && gestures.paints() && !event.altKey;
    if (strokes) gestures.press(event.offsetX, event.offsetY);
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = pointers.get(event.pointerId);
    if (!before) {
      gestures.hover(event.offsetX, event.offsetY);
      return;
    }
    const right = event.offsetX - before.x, down = event.offsetY - before.y;
    before.x = event.offsetX;
    before.y = event.offsetY;
    travel += Math.abs(right) + Math.abs(down);
    if (strokes) gestures.stroke(event.offsetX, event.offsetY);
    else if (pointers.size > 1) pinch(right, down);
    else if (event.shiftKey || event.buttons & 6) orbit.shift(right, down, canvas.clientHeight);
    else orbit.turn(right, down);
  });
  const lift = (event: PointerEvent) => {
    pointers.delete(event.pointerId);
    spread = 0;
    if (strokes) gestures.release();
    else if (event.type === "pointerup" && event.button === 0 && travel < STILL) gestures.tap(event.offsetX, event.offsetY);
    strokes = false;
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener("pointerleave", gestures.leave);
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    orbit.zoom(Math.exp(0.0012 * event.deltaY));
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const move = moves(event.shiftKey)[event.key];
    if (!move && !gestures.key(event.key)) return;
    event.preventDefault();
    move?.();
  });

  function pinch(right: number, down: number): void {
    const [a, b] = [...pointers.values()];
    const now = Math.hypot(a.x - b.x, a.y - b.y);
    if (spread > 0 && now > 0) orbit.zoom(spread / now);
    spread = now;
    orbit.shift(right / 2, down / 2, canvas.clientHeight);
  }

  function moves(shifted: boolean): Record<string, () => void> {
    const go = (right: number, up: number) => () =>
      shifted ? orbit.shift(right, up, canvas.clientHeight) : orbit.turn(right, up);
    return {
      ArrowLeft: go(-KEY_TURN, 0),
      ArrowRight: go(KEY_TURN, 0),
      ArrowUp: go(0, KEY_TURN),
      ArrowDown: go(0, -KEY_TURN),
      "+": () => orbit.zoom(KEY_ZOOM),
      "=": () => orbit.zoom(KEY_ZOOM),
      "-": () => orbit.zoom(1 / KEY_ZOOM),
    };
  }
}
