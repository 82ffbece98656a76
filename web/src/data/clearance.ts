/** What can be measured in the browser at any shape: clearance along the normal of the foot, and its change. */

import type { Feet } from "./meshes.ts";

/** Signed distance from the foot along the skin's normal there, outward positive, metres. */
export function clearances(
  cloth: Float32Array,
  body: Float32Array,
  normals: Float32Array,
  feet: Feet,
  out: Float32Array,
): void {
  const { corners, shares } = feet;
  for (let g = 0; g < out.length; g++) {
    let x = 0, y = 0, z = 0, nx = 0, ny = 0, nz = 0;
    for (let c = 3 * g; c < 3 * g + 3; c++) {
      const at = 3 * corners[c], share = shares[c];
      x += share * body[at]; y += share * body[at + 1]; z += share * body[at + 2];
      nx += share * normals[at]; ny += share * normals[at + 1]; nz += share * normals[at + 2];
    }
    const length = Math.sqrt(nx * nx + ny * ny + nz * nz) || 1;
    out[g] = ((cloth[3 * g] - x) * nx + (cloth[3 * g + 1] - y) * ny + (cloth[3 * g + 2] - z) * nz) / length;
  }
}
