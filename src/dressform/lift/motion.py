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
    normal, turn, axial = np.zeros(3), np.zeros(3), np.zeros(3)
    for face in range(len(faces)):
        i, j, k = faces[face]
        first, second = vertices[j] - vertices[i], vertices[k] - vertices[i]
        normal[0] = first[1] * second[2] - first[2] * second[1]
        normal[1] = first[2] * second[0] - first[0] * second[2]
        normal[2] = first[0] * second[1] - first[1] * second[0]
        twice = np.sqrt(normal[0] ** 2 + normal[1] ** 2 + normal[2] ** 2)
        if twice == 0.0:
            continue
        normal /= twice
        axial[:] = 0.0
        trace = 0.0
        for corner in range(3):
            a, b, c = faces[face, corner], faces[face, (corner + 1) % 3], faces[face, (corner + 2) % 3]
            e0, e1, e2 = (
                vertices[c, 0] - vertices[b, 0],
                vertices[c, 1] - vertices[b, 1],
                vertices[c, 2] - vertices[b, 2],
            )
            # Area times the gradient of the corner's hat function: half of normal × opposite side.
            g0 = 0.5 * (normal[1] * e2 - normal[2] * e1)
            g1 = 0.5 * (normal[2] * e0 - normal[0] * e2)
            g2 = 0.5 * (normal[0] * e1 - normal[1] * e0)
            d0, d1, d2 = deltas[a, 0], deltas[a, 1], deltas[a, 2]
            axial[0] += 0.5 * (g1 * d2 - g2 * d1)
            axial[1] += 0.5 * (g2 * d0 - g0 * d2)
            axial[2] += 0.5 * (g0 * d1 - g1 * d0)
            trace += g0 * d0 + g1 * d1 + g2 * d2
        spin = axial[0] * normal[0] + axial[1] * normal[1] + axial[2] * normal[2]
        turn[:] = 2.0 * axial - spin * normal
        for corner in range(3):
            vertex = faces[face, corner]
            sums[vertex, :3] += turn
            sums[vertex, 3] += 0.5 * trace
            sums[vertex, 4] += 0.5 * twice
    return sums
