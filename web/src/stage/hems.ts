/** Edges at which a cloth ends: those of one triangle alone. */

/** Pairs of vertices, one pair per edge. */
export function hems(faces: Uint32Array): Uint32Array {
  const open = new Map<string, readonly [number, number]>();
  for (let f = 0; f < faces.length; f += 3) {
    for (let side = 0; side < 3; side++) {
      const from = faces[f + side], to = faces[f + ((side + 1) % 3)];
      const key = from < to ? `${from} ${to}` : `${to} ${from}`;
      if (!open.delete(key)) open.set(key, [from, to]);
    }
  }
  return Uint32Array.from([...open.values()].flat());
}
