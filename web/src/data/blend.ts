/** Following in the browser: base + Σ weight × displacement, into an array that is made once. */

import type { Mesh } from "./meshes.ts";
import type { Numbers } from "./pack.ts";

/** So many changes are added on top of each other before the sum is made anew: rounding cannot pile up. */
const MAX_CHANGES = 64;

export class Blender {
  readonly #mesh: Mesh;
  readonly points: Float32Array;
  readonly #at: Float64Array;
  #changes = 0;

  constructor(mesh: Mesh) {
    this.#mesh = mesh;
    this.points = mesh.base.slice();
    this.#at = new Float64Array(mesh.deltas.length);
  }

  /** Move to `weights`; a morph at 0 costs nothing. */
  moveTo(weights: ArrayLike<number>): Float32Array {
    let changed = 0, active = 0;
    for (let k = 0; k < this.#at.length; k++) {
      if (weights[k] !== this.#at[k]) changed++;
      if (weights[k] !== 0) active++;
    }
    if (changed > active || this.#changes + changed > MAX_CHANGES) this.#restart();
    for (let k = 0; k < this.#at.length; k++) this.#turn(k, weights[k]);
    return this.points;
  }

  #restart(): void {
    this.points.set(this.#mesh.base);
    this.#at.fill(0);
    this.#changes = 0;
  }

  #turn(k: number, weight: number): void {
    const by = weight - this.#at[k];
    if (by === 0) return;
    this.#at[k] = weight;
    this.#changes++;
    const delta = this.#mesh.deltas[k];
    if (delta) addScaled(delta.data, by * delta.scale, by * delta.offset, this.points);
  }
}

function addScaled(data: Numbers, factor: number, shift: number, out: Float32Array): void {
  for (let i = 0; i < out.length; i++) out[i] += data[i] * factor + shift;
}
