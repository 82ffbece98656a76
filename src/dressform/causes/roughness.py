"""Noise in a displacement of the body: how rough it is from vertex to vertex, and the same field without it."""

import numpy as np
from jaxtyping import Bool, Float
from scipy.sparse import csr_array, diags_array

from dressform.arrays import BodyPoints, Faces, VertexScalars
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.laplacian import cotangent
from dressform.mesh.topology import adjacency

BRUSH = 0.012
"""Length over which a rough morph is smoothed, metres."""
PASSES = 3
"""Times that it is smoothed: each pass leaves about a quarter of white noise."""
MIN_AREA = 1e-3
"""A vertex weighs at least this share of the mean."""
MIN_NOISE = 3e-4
"""Skin whose vertices are shifted against their neighbours by less than this is even, metres."""
WHITE = 1.15
"""Of noise each further difference is about 1.3 times as large; of skin that bends within a few edges, 0.9 to 1.1."""


class Brush:
    """Takes noise out of displacements of one body: linear, and exact for what is smooth.

    One pass is I − R² with R = I − (M + ℓ² K)⁻¹ M, the part that a step of heat flow over ℓ takes away. White noise is
    nearly all in R, so R² takes it away; a swelling of radius r keeps all but (4 ℓ²/r²)² of its height.

    Proof: tests/causes/test_roughness.py
    """

    def __init__(self, vertices: BodyPoints, faces: Faces) -> None:
        areas = vertex_areas(vertices, faces)
        self._mass = np.maximum(areas, MIN_AREA * float(areas.mean()))
        self._around = _mean_of_neighbours(faces, len(vertices))
        self._factor = Factor(csr_array(diags_array(self._mass) + BRUSH**2 * cotangent(vertices, faces)))

    def smoothed(self, field: Float[np.ndarray, "B 3"]) -> Float[np.ndarray, "B 3"]:
        """The field without its noise."""
        for _ in range(PASSES):
            field = field - self._rough(self._rough(field))
        return field

    def noise(self, field: Float[np.ndarray, "B 3"]) -> VertexScalars:
        """How far each vertex is shifted against its neighbours beyond what the field bends, metres, (B,)."""
        off = field - self._around @ field
        return np.linalg.norm(off - self._around @ off, axis=1)

    def is_noise(self, field: Float[np.ndarray, "B 3"], where: Bool[np.ndarray, " B"]) -> bool:
        """Whether a field is uneven somewhere because of noise, not because it bends within a few edges.

        Neighbours of noise lie on either side: taking the mean of the neighbours away once more makes it larger. What
        bends, as the skin over the hinge of a finger that curls, lies on one side over several vertices. Compared are
        the second difference, in which the form is already small, and the third.

        Proof: tests/causes/test_roughness.py::test_a_tight_bend_is_no_noise
        """
        first = field - self._around @ field
        second = first - self._around @ first
        third = second - self._around @ second
        return bool(np.linalg.norm(third[where]) > WHITE * np.linalg.norm(second[where]))

    def _rough(self, field: Float[np.ndarray, "B 3"]) -> Float[np.ndarray, "B 3"]:
        return field - self._factor.solve(self._mass[:, None] * field)


def _mean_of_neighbours(faces: Faces, count: int) -> csr_array:
    """Rows that take the mean over the neighbours of each vertex."""
    graph = adjacency(faces, count).astype(np.float64)
    degrees = np.maximum(np.asarray(graph.sum(axis=1)).ravel(), 1.0)
    return csr_array(diags_array(1.0 / degrees) @ graph)
