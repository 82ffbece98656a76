"""Inside or outside of a mesh, even one with holes or flaws: the generalised winding number."""

import igl
import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import Faces, Points, Queries
from dressform.mesh.flat import flat_mesh, flat_points

INSIDE = 0.5


class Winding:
    """The winding number of one mesh, prepared once for many queries.

    1 inside a closed surface with outward normals, 0 outside, 2 where two such surfaces overlap, a fraction near an
    opening: at a hole it passes smoothly from 1 to 0, so that "at least a half" closes the hole like a soap film.

    Source: [Jacobson2013]; fast summation [Barill2018], whose error is about 1e-2 near the surface and far below the
    half that decides. Proof: tests/mesh/test_inside.py::test_fast_agrees_with_exact
    """

    def __init__(self, vertices: Points, faces: Faces, *, exact: bool = False) -> None:
        self.vertices, self.faces = flat_mesh("Winding", vertices, faces)
        self.exact = exact
        if not exact:
            self._fast = igl.FastWindingNumberBVH()
            self._fast.init(self.vertices, self.faces)

    def numbers(self, queries: Queries) -> Float[np.ndarray, " Q"]:
        """Winding number of the mesh around each query, (Q,)."""
        flat = flat_points("Winding.numbers", "queries", queries)
        if len(flat) == 0 or len(self.faces) == 0:
            return np.zeros(len(flat))
        if self.exact:
            return np.asarray(igl.winding_number(self.vertices, self.faces, flat))
        return np.asarray(self._fast.winding_number(flat))

    def inside(self, queries: Queries) -> Bool[np.ndarray, " Q"]:
        """Whether the mesh winds around each query at least half a time, (Q,)."""
        return self.numbers(queries) >= INSIDE


def winding_numbers(
    vertices: Points, faces: Faces, queries: Queries, *, exact: bool = False
) -> Float[np.ndarray, " Q"]:
    """Winding number of a mesh around each query, (Q,); `Winding` keeps the mesh ready between calls.

    Args:
        vertices: The mesh, (V, 3), metres.
        faces: Its triangles; turned-over ones count negative, (F, 3).
        queries: Positions, (Q, 3), metres.
        exact: Sum the solid angle of every triangle (ten times slower) instead of the fast expansion.
    """
    return Winding(vertices, faces, exact=exact).numbers(queries)
