/** A camera that goes round a point: by pointer, by two fingers, by wheel, by keys. */

import { PerspectiveCamera, Vector3 } from "three";

export interface Bounds {
  readonly low: Vector3;
  readonly high: Vector3;
}

export interface View {
  readonly position: readonly [number, number, number];
  readonly target: readonly [number, number, number];
}

const FIELD = 24; // degrees from top to bottom: long enough a lens to leave a body's proportions alone
const TURN = 0.0062; // radians per pixel
const NARROWEST = 0.2; // width over height of a frame
const NEAREST = 0.12;
const FARTHEST = 9;
const STEEPEST = 1.45;
const GLIDE_MS = 520;
const MARGIN = 1.14; // the frame is so much larger than what is framed
const HOME_ELEVATION = 0.08;
const HAIR = 0.01; // metres that may stick out of a frame, which has room around it
const AXES = ["x", "y", "z"] as const;
const FAR_SHARE = 0.8; // nearer than this share of the distance for the whole body, one looks at a place

export class Orbit {
  readonly camera = new PerspectiveCamera(FIELD, 1, 0.05, 30);
  readonly target = new Vector3(0, 0.9, 0);
  azimuth = 0.35;
  elevation = 0.08;
  distance = 4.6;
  #framed: Bounds | null = null;
  #wholeDistance = 0;
  #glide: { from: number[]; to: number[]; start: number } | null = null;
  readonly #changed: () => void;
  readonly #calm: () => boolean;

  constructor(changed: () => void, calm: () => boolean) {
    this.#changed = changed;
    this.#calm = calm;
  }

  turn(right: number, up: number): void {
    this.#glide = null;
    this.azimuth -= right * TURN;
    this.elevation = clamp(this.elevation + up * TURN, -STEEPEST, STEEPEST);
    this.#changed();
  }

  /** Go round to an azimuth, at the height and distance that there are. */
  turnTo(azimuth: number): void {
    const framed = this.#framed;
    const [x, y, z, distance] = this.#glide?.to ?? this.#state();
    this.glideTo(new Vector3(x, y, z), distance, azimuth, this.elevation);
    this.#framed = framed;
  }

  /** Nearer by a factor below 1. */
  zoom(factor: number): void {
    this.#glide = this.#framed = null;
    this.distance = clamp(this.distance * factor, NEAREST, FARTHEST);
    this.#changed();
  }

  /** Move what is looked at by pixels of a frame of this height. */
  shift(right: number, up: number, height: number): void {
    this.#glide = this.#framed = null;
    const metres = (2 * this.distance * Math.tan((FIELD * Math.PI) / 360)) / height;
    const sideways = new Vector3(Math.cos(this.azimuth), 0, -Math.sin(this.azimuth));
    this.target.addScaledVector(sideways, -right * metres);
    this.target.y = clamp(this.target.y + up * metres, 0, 3);
    this.#changed();
  }

  /** Whether all of the body is shown, and nobody has come nearer since. */
  get isFramed(): boolean {
    return this.#framed !== null;
  }

  /** Whether bounds are within those that are shown whole, but for a hair. */
  holds({ low, high }: Bounds): boolean {
    const framed = this.#framed;
    if (!framed) return false;
    return AXES.every((axis) => low[axis] > framed.low[axis] - HAIR && high[axis] < framed.high[axis] + HAIR);
  }

  /** Whether the camera is about as far away as the whole body needs. */
  get isFar(): boolean {
    return this.distance >= FAR_SHARE * this.#wholeDistance;
  }

  /** Show bounds whole, as the body, from an azimuth; at once or gliding. */
  frame(bounds: Bounds, azimuth: number, aspect: number, atOnce = false): void {
    this.glideToBounds(bounds, azimuth, aspect, atOnce);
    this.#wholeDistance = distanceFor(bounds, azimuth, aspect);
    this.#framed = bounds;
  }

  /** Show bounds whole, without calling them the body. */
  glideToBounds(bounds: Bounds, azimuth: number, aspect: number, atOnce = false): void {
    const middle = new Vector3().addVectors(bounds.low, bounds.high).multiplyScalar(0.5);
    this.glideTo(middle, distanceFor(bounds, azimuth, aspect), azimuth, HOME_ELEVATION, atOnce);
  }

  glideTo(target: Vector3, distance: number, azimuth: number, elevation: number, atOnce = false): void {
    this.#framed = null;
    const near = this.azimuth + Math.atan2(Math.sin(azimuth - this.azimuth), Math.cos(azimuth - this.azimuth));
    const to = [target.x, target.y, target.z, distance, near, clamp(elevation, -STEEPEST, STEEPEST)];
    this.#glide = atOnce || this.#calm() ? null : { from: this.#state(), to, start: performance.now() };
    if (!this.#glide) this.#take(to);
    this.#changed();
  }

  /** Put the camera where it now is; true while it still glides. */
  update(now: number): boolean {
    const glide = this.#glide;
    if (glide) {
      const share = Math.min(1, (now - glide.start) / GLIDE_MS);
      const eased = share * share * (3 - 2 * share);
      this.#take(glide.from.map((value, i) => value + eased * (glide.to[i] - value)));
      if (share >= 1) this.#glide = null;
    }
    const flat = this.distance * Math.cos(this.elevation);
    this.camera.position.set(
      this.target.x + flat * Math.sin(this.azimuth),
      this.target.y + this.distance * Math.sin(this.elevation),
      this.target.z + flat * Math.cos(this.azimuth),
    );
    this.camera.lookAt(this.target);
    return this.#glide !== null;
  }

  get view(): View {
    return { position: triple(this.camera.position), target: triple(this.target) };
  }

  set view({ position, target }: View) {
    const offset = new Vector3(...position).sub(new Vector3(...target));
    const distance = offset.length() || 1;
    this.#glide = this.#framed = null;
    this.#take([...target, distance, Math.atan2(offset.x, offset.z), Math.asin(offset.y / distance)]);
    this.#changed();
  }

  #state(): number[] {
    return [this.target.x, this.target.y, this.target.z, this.distance, this.azimuth, this.elevation];
  }

  #take([x, y, z, distance, azimuth, elevation]: number[]): void {
    this.target.set(x, y, z);
    this.distance = distance;
    this.azimuth = azimuth;
    this.elevation = elevation;
  }
}

/** The box that holds all of these. */
export function aroundAll(boxes: readonly Bounds[]): Bounds {
  const low = new Vector3(Infinity, Infinity, Infinity), high = low.clone().negate();
  for (const box of boxes) {
    low.min(box.low);
    high.max(box.high);
  }
  return { low, high };
}

/** From how far away bounds fit into a frame. */
function distanceFor({ low, high }: Bounds, azimuth: number, aspect: number): number {
  const size = new Vector3().subVectors(high, low);
  const across = Math.abs(Math.cos(azimuth)) * size.x + Math.abs(Math.sin(azimuth)) * size.z;
  const half = Math.max(size.y, across / Math.max(aspect, NARROWEST)) / 2;
  return clamp((MARGIN * half) / Math.tan((FIELD * Math.PI) / 360), NEAREST, FARTHEST);
}

function triple(vector: Vector3): [number, number, number] {
  return [vector.x, vector.y, vector.z];
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}
