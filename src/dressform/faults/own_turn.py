"""How cloth turns beside the cloth around it: what tells a fold from a stiff end that turns as a whole."""

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import diags_array

from dressform.arrays import ClothPoints, Faces, VertexScalars
from dressform.lift.turns import angles_between, nearest_turns, turns_between
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import face_areas, vertex_areas, vertex_normals
from dressform.mesh.laplacian import cotangent

AROUND = 0.05
"""The turn of the cloth around a vertex is the average over about this, along the cloth, metres."""
MIN_AREA = 1e-3
"""A vertex weighs at least this share of the mean."""


class OwnTurn:
    """The turn of a garment around each of its vertices: a step of heat flow over `AROUND` on its own surface.

    Args:
        vertices: The cloth as it was made, (G, 3), metres.
        faces: Its triangles.
        leaders: From `seam_leaders`, so that the average crosses the seams.
    """

    def __init__(self, vertices: ClothPoints, faces: Faces, leaders: Int[np.ndarray, " G"]) -> None:
        self._made, self._faces, self._leaders = vertices, leaders[faces], leaders
        self._normals = vertex_normals(vertices, self._faces)
        self._areas = face_areas(vertices, self._faces)
        areas = vertex_areas(vertices, self._faces)
        mass = np.maximum(areas, max(MIN_AREA * float(areas.mean()), np.finfo(float).tiny))
        self._around = Factor(diags_array(mass) + AROUND**2 * cotangent(vertices, self._faces))

    def departure(self, cloth: ClothPoints, asked: Bool[np.ndarray, " G"]) -> VertexScalars:
        """Angle between a vertex's normal and where it would face if it turned with the cloth around it, radians.

        Args:
            cloth: The cloth on a shape, (G, 3), metres.
            asked: The N vertices that are looked at, (G,).

        Returns:
            One angle for each of those, (N,); 0 for cloth that turns as a whole.

        Proof: tests/faults/test_own_turn.py
        """
        of = self._leaders[asked]
        turns = nearest_turns(self._average(turns_between(self._made, cloth, self._faces))[of])
        meant = np.einsum("nij,nj->ni", turns, self._normals[of])
        return angles_between(vertex_normals(cloth, self._faces)[of], meant)

    def _average(self, turns: Float[np.ndarray, "F 3 3"]) -> Float[np.ndarray, "G 3 3"]:
        """Turns of triangles, averaged around each vertex by area; up to a factor, which no turn depends on."""
        weighted = self._areas[:, None] * turns.reshape(-1, 9)
        sums = [np.bincount(self._faces.ravel(), np.repeat(part, 3), len(self._made)) for part in weighted.T]
        return self._around.solve(np.column_stack(sums)).reshape(-1, 3, 3)
