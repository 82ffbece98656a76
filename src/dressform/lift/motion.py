"""How a displacement field turns and stretches the skin around each vertex, to first order."""

from typing import no_type_check

import numpy as np
from jaxtyping import Float

from dressform.arrays import Faces, Points
from dressform.mesh.flat import flat_mesh, flat_points
from dressform.mesh.jit import jit


def local_motion(
    vertices: Points, faces: Faces, deltas: Float[np.ndarray, "V 3"]
) -> tuple[Float[np.ndarray, "V 3"], Float[np.ndarray, " V"]]:
    """Turn and stretch of the surface around each vertex under `deltas`; linear in `deltas`.

    In each triangle the field has the tangential gradient T = Σ_k d_k ⊗ ∇φ_k. Its axial vector a = ½ Σ ∇φ_k × d_k
    holds the whole spin about the normal n but half of the tilt, so the turn is 2a − n(n·a); the stretch is half the
    trace. Triangles are averaged around a vertex by area. Exact for every linearised similarity d = ω × x + s x + t.

    Args:
        vertices: The mesh, (V, 3), metres.
        faces: Its triangles, (F, 3).
        deltas: Displacement of its vertices, (V, 3), metres.

    Returns:
        The turn ω, (V, 3), radians; the stretch s, (V,), lengthening per length.

    Proof: tests/lift/test_motion.py::test_a_linearised_similarity_is_read_back_exactly
    """
    flat, triangles = flat_mesh("local_motion", vertices, faces)
    sums = _motion_sums(flat, triangles, flat_points("local_motion", "deltas", deltas))
    areas = np.maximum(sums[:, 4:], np.finfo(float).tiny)
    motion = sums[:, :4] / areas
    return motion[:, :3], motion[:, 3]


@jit
@no_type_check
def _motion_sums(vertices, faces, deltas):
    """Area-weighted turn (3), stretch (1) and the area itself, summed around each vertex, (V, 5)."""
    sums = np.zeros((len(vertices), 5))
    for face in range(len(faces)):
        i, j, k = faces[face, 0], faces[face, 1], faces[face, 2]
        px, py, pz = vertices[j, 0] - vertices[i, 0], vertices[j, 1] - vertices[i, 1], vertices[j, 2] - vertices[i, 2]
        qx, qy, qz = vertices[k, 0] - vertices[i, 0], vertices[k, 1] - vertices[i, 1], vertices[k, 2] - vertices[i, 2]
        nx, ny, nz = py * qz - pz * qy, pz * qx - px * qz, px * qy - py * qx
        twice = np.sqrt(nx * nx + ny * ny + nz * nz)
        if twice == 0.0:
            continue
        nx, ny, nz = nx / twice, ny / twice, nz / twice
        # Twice the area times the gradients of the hat functions of j and k: q × n and n × p. That of i is what is
        # missing to zero, so displacements count relative to its own.
        gx, gy, gz = qy * nz - qz * ny, qz * nx - qx * nz, qx * ny - qy * nx
        hx, hy, hz = ny * pz - nz * py, nz * px - nx * pz, nx * py - ny * px
        dx, dy, dz = deltas[j, 0] - deltas[i, 0], deltas[j, 1] - deltas[i, 1], deltas[j, 2] - deltas[i, 2]
        ex, ey, ez = deltas[k, 0] - deltas[i, 0], deltas[k, 1] - deltas[i, 1], deltas[k, 2] - deltas[i, 2]
        # Twice the axial vector, times the area.
        ax = 0.5 * (gy * dz - gz * dy + hy * ez - hz * ey)
        ay = 0.5 * (gz * dx - gx * dz + hz * ex - hx * ez)
        az = 0.5 * (gx * dy - gy * dx + hx * ey - hy * ex)
        spin = 0.5 * (ax * nx + ay * ny + az * nz)
        stretch = 0.25 * (gx * dx + gy * dy + gz * dz + hx * ex + hy * ey + hz * ez)
        for vertex in (i, j, k):
            sums[vertex, 0] += ax - spin * nx
            sums[vertex, 1] += ay - spin * ny
            sums[vertex, 2] += az - spin * nz
            sums[vertex, 3] += stretch
            sums[vertex, 4] += 0.5 * twice
    return sums
