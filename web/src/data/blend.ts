/** Following in the browser: base + Σ weight × displacement, into arrays that are made once. */

import type { Mesh } from "./meshes.ts";

/** Write the mesh at `weights` into `out`. Morphs at weight 0 cost nothing. */
export function blend(mesh: Mesh, weights: ArrayLike<number>, out: Float32Array): void {
  out.set(mesh.base);
  for (let k = 0; k < mesh.deltas.length; k++) {
    const delta = mesh.deltas[k];
    const weight = weights[k];
    if (delta && weight) addScaled(delta.data, weight * delta.scale, weight * delta.offset, out);
  }
}

function addScaled(data: ArrayLike<number>, factor: number, shift: number, out: Float32Array): void {
  for (let i = 0; i < out.length; i++) out[i] += data[i] * factor + shift;
}
