/** One dab of a soft brush on cloth: strength drawn towards a value, most in the middle. */

export interface Dab {
  readonly centre: readonly [number, number, number];
  /** The way the surface faces under the brush. */
  readonly facing: readonly [number, number, number];
  /** Metres. */
  readonly radius: number;
  readonly value: number;
}

const SAME_SIDE = 0.2; // cosine from which a vertex faces the brush: the far side of a sleeve stays dry

/** Change `mask` where the dab reaches; whether anything changed. */
export function dab(points: Float32Array, normals: Float32Array, { centre, facing, radius, value }: Dab, mask: Float32Array): boolean {
  let changed = false;
  for (let i = 0; i < mask.length; i++) {
    const x = points[3 * i] - centre[0], y = points[3 * i + 1] - centre[1], z = points[3 * i + 2] - centre[2];
    const distance = Math.sqrt(x * x + y * y + z * z);
    if (distance >= radius) continue;
    const faces = normals[3 * i] * facing[0] + normals[3 * i + 1] * facing[1] + normals[3 * i + 2] * facing[2];
    if (faces < SAME_SIDE) continue;
    const share = 1 - distance / radius;
    mask[i] += share * share * (3 - 2 * share) * (value - mask[i]);
    changed = true;
  }
  return changed;
}
