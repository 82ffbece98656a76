/** Where a ray meets a mesh, by going through all triangles [Moller1997]. */

export interface Hit {
  face: number;
  distance: number;
  /** Shares of the second and third corner. */
  u: number;
  v: number;
}

const GRAZING = 1e-14;

/** The nearest triangle that the ray meets before `within`, written into `hit`; whether there is one. */
export function nearestHit(
  origin: ArrayLike<number>,
  direction: ArrayLike<number>,
  points: Float32Array,
  faces: Uint32Array,
  within: number,
  hit: Hit,
): boolean {
  const ox = origin[0], oy = origin[1], oz = origin[2];
  const dx = direction[0], dy = direction[1], dz = direction[2];
  let nearest = within;
  for (let f = 0; f < faces.length; f += 3) {
    const a = 3 * faces[f], b = 3 * faces[f + 1], c = 3 * faces[f + 2];
    const ax = points[a], ay = points[a + 1], az = points[a + 2];
    const ux = points[b] - ax, uy = points[b + 1] - ay, uz = points[b + 2] - az;
    const vx = points[c] - ax, vy = points[c + 1] - ay, vz = points[c + 2] - az;
    const px = dy * vz - dz * vy, py = dz * vx - dx * vz, pz = dx * vy - dy * vx;
    const area = ux * px + uy * py + uz * pz;
    if (area > -GRAZING && area < GRAZING) continue;
    const sx = ox - ax, sy = oy - ay, sz = oz - az;
    const u = (sx * px + sy * py + sz * pz) / area;
    if (u < 0 || u > 1) continue;
    const qx = sy * uz - sz * uy, qy = sz * ux - sx * uz, qz = sx * uy - sy * ux;
    const v = (dx * qx + dy * qy + dz * qz) / area;
    if (v < 0 || u + v > 1) continue;
    const distance = (vx * qx + vy * qy + vz * qz) / area;
    if (distance <= 0 || distance >= nearest) continue;
    nearest = distance;
    hit.face = f / 3;
    hit.distance = distance;
    hit.u = u;
    hit.v = v;
  }
  return nearest < within;
}

/** A value between the three corners of the triangle that was hit. */
export function valueAt(hit: Hit, faces: Uint32Array, values: ArrayLike<number>): number {
  const f = 3 * hit.face;
  return (1 - hit.u - hit.v) * values[faces[f]] + hit.u * values[faces[f + 1]] + hit.v * values[faces[f + 2]];
}

/** The corner nearest to where the triangle was hit. */
export function vertexAt(hit: Hit, faces: Uint32Array): number {
  const w = 1 - hit.u - hit.v;
  const corner = w >= hit.u && w >= hit.v ? 0 : hit.u >= hit.v ? 1 : 2;
  return faces[3 * hit.face + corner];
}
