/** A camera that goes round a point: by pointer, by two fingers, by wheel, by keys. */

import { PerspectiveCamera, Vector3 } from "three";

export interface View {
  readonly position: readonly [number, number, number];
  readonly target: readonly [number, number, number];
}

const FIELD = 24; // degrees from top to bottom: long enough a lens to leave a body's proportions alone
const TURN = 0.0062; // radians per pixel
const NEAREST = 0.12;
const FARTHEST = 9;
const STEEPEST = 1.45;
const GLIDE_MS = 520;
const MARGIN = 1.14; // what is framed takes this part of the frame

export class Orbit {
  readonly camera = new PerspectiveCamera(FIELD, 1, 0.05, 30);
  readonly target = new Vector3(0, 0.9, 0);
  azimuth = 0.35;
  elevation = 0.08;
  distance = 4.6;
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

  /** Nearer by a factor below 1. */
  zoom(factor: number): void {
    this.#glide = null;
    this.distance = clamp(this.distance * factor, NEAREST, FARTHEST);
    this.#changed();
  }

  /** Move what is looked at by pixels of a frame of this height. */
  shift(right: number, up: number, height: number): void {
    this.#glide = null;
    const metres = (2 * this.distance * Math.tan((FIELD * Math.PI) / 360)) / height;
    const sideways = new Vector3(Math.cos(this.azimuth), 0, -Math.sin(this.azimuth));
    this.target.addScaledVector(sideways, -right * metres);
    this.target.y = clamp(this.target.y + up * metres, 0, 3);
    this.#changed();
  }

  /** Show what reaches from `low` to `high` whole, from an azimuth; at once or gliding. */
  frame(low: Vector3, high: Vector3, azimuth = this.azimuth, aspect = this.camera.aspect): void {
    const half = Math.tan((FIELD * Math.PI) / 360);
    const height = (high.y - low.y) / 2;
    const width = Math.hypot(high.x - low.x, high.z - low.z) / 2 / Math.max(aspect, 0.2);
    const distance = clamp((MARGIN * Math.max(height, width)) / half, NEAREST, FARTHEST);
    this.glideTo(new Vector3().addVectors(low, high).multiplyScalar(0.5), distance, azimuth, 0.08);
  }

  glideTo(target: Vector3, distance: number, azimuth: number, elevation: number): void {
    const near = this.azimuth + Math.atan2(Math.sin(azimuth - this.azimuth), Math.cos(azimuth - this.azimuth));
    const to = [target.x, target.y, target.z, distance, near, clamp(elevation, -STEEPEST, STEEPEST)];
    this.#glide = this.#calm() ? null : { from: this.#state(), to, start: performance.now() };
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
    this.#glide = null;
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

function triple(vector: Vector3): [number, number, number] {
  return [vector.x, vector.y, vector.z];
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}
