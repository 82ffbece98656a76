/** Vertex normals: the mean of the triangles around, weighted by area. */

/** Write unit normals of `points` into `out`; vertices of no triangle get (0, 1, 0). */
export function vertexNormals(points: Float32Array, faces: Uint32Array, out: Float32Array): void {
  out.fill(0);
  for (let f = 0; f < faces.length; f += 3) {
    const a = 3 * faces[f], b = 3 * faces[f + 1], c = 3 * faces[f + 2];
    const ux = points[b] - points[a], uy = points[b + 1] - points[a + 1], uz = points[b + 2] - points[a + 2];
    const vx = points[c] - points[a], vy = points[c + 1] - points[a + 1], vz = points[c + 2] - points[a + 2];
    const x = uy * vz - uz * vy, y = uz * vx - ux * vz, z = ux * vy - uy * vx;
    out[a] += x; out[a + 1] += y; out[a + 2] += z;
    out[b] += x; out[b + 1] += y; out[b + 2] += z;
    out[c] += x; out[c + 1] += y; out[c + 2] += z;
  }
  for (let i = 0; i < out.length; i += 3) {
    const length = Math.sqrt(out[i] * out[i] + out[i + 1] * out[i + 1] + out[i + 2] * out[i + 2]);
    if (length > 0) {
      out[i] /= length; out[i + 1] /= length; out[i + 2] /= length;
    } else {
      out[i + 1] = 1;
    }
  }
}
