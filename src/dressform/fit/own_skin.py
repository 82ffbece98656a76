"""Own skin: which skin a piece of cloth stands on, so that skin which only a stance brings near is told apart."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, Faces, Points
from dressform.fit.own_skin_kernels import are_own, closest_of, reached
from dressform.garment.along import paths_along
from dressform.lift.feet import Feet, find_feet
from dressform.mesh.nearest import Closest, signed_clearance
from dressform.mesh.nearest_kernels import pseudonormal_signs
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree

OWN_REACH = 0.10
"""Skin within this of the foot along the skin is the cloth's own, metres; on slim parts as below. A choice of ours."""
ROUND = np.pi / 2
"""Slim parts: half way round, for a part as thick as the body is under the foot,"""
LEAST_REACH = 0.01
"""but at least this, metres."""
LOOSE = np.pi
"""Loose cloth: this many times its clearance, half way round a circle that it spans,"""
MOST_REACH = 0.20
"""but no more than this, metres."""
INWARD = 1e-4
"""Rays that measure the thickness start this far under the skin, metres."""


@dataclass(frozen=True, eq=False)
class OwnSkin:
    """The body vertices that each cloth vertex stands on, at rest.

    Attributes:
        body: The body's triangles at rest.
        cloth: The cloth's triangles, (F, 3).
        feet: Where the cloth stands.
        rows: List of each cloth vertex, (G,).
        starts: Where each list starts, (R + 1,).
        vertices: Body vertices of all lists, rising in each.
    """

    body: Tree
    cloth: Faces
    feet: Feet
    rows: Int[np.ndarray, " G"]
    starts: Int[np.ndarray, " R1"]
    vertices: Int[np.ndarray, " N"]

    def holds(self, pairs: Int[np.ndarray, "P 2"]) -> Bool[np.ndarray, " P"]:
        """Whether the body triangle of each pair (cloth face, body face) is own skin of the cloth triangle, (P,)."""
        return are_own(pairs, self.cloth, self.body.faces, self.rows, self.starts, self.vertices)

    def clearance(self, body: Tree, cloth: ClothPoints) -> tuple[Float[np.ndarray, " G"], Closest]:
        """Signed distance of moved cloth from its own skin, (G,), metres, outward positive, and the closest points.

        Args:
            body: The body's triangles, moved.
            cloth: The cloth, moved.
        """
        signed, found = signed_clearance(body, cloth)
        every = np.arange(len(cloth))
        near = are_own(np.stack([every, found.faces], 1), every[:, None].repeat(3, 1), body.faces,
                       self.rows, self.starts, self.vertices)  # fmt: skip
        away = np.flatnonzero(~near)  # the nearest skin is another part's: look among their own
        if away.size == 0:
            return signed, found
        first, of_vertex = self._around
        faces, barycentric = closest_of(
            cloth[away], self.rows[away], self.starts, self.vertices, first, of_vertex,
            body.faces, body.vertices, body.pseudonormals[2],
        )  # fmt: skip
        points = np.einsum("qc,qcx->qx", barycentric, body.vertices[body.faces[faces]])
        signs = pseudonormal_signs(
            body.faces, body.sides.of_faces, *body.pseudonormals, cloth[away], points, faces, barycentric
        )
        apart = np.linalg.norm(cloth[away] - points, axis=1)
        for whole, part in zip(
            (signed, found.points, found.faces, found.barycentric, found.distances),
            (signs * apart, points, faces, barycentric, apart),
        ):
            whole[away] = part
        return signed, found

    @cached_property
    def _around(self) -> tuple[Int[np.ndarray, " B1"], Int[np.ndarray, " N"]]:
        """Triangles around each body vertex."""
        corners = self.body.faces.ravel()
        counts = np.bincount(corners, minlength=len(self.body.vertices))
        return np.concatenate([[0], np.cumsum(counts)]), np.argsort(corners, kind="stable") // 3


def own_skin(body: Tree, cloth: ClothPoints, faces: Faces) -> OwnSkin:
    """Find the skin that each cloth vertex stands on at rest.

    It is what paths along the skin reach from the foot within 10 cm. On slim parts, such as fingers, it ends half way
    round. Loose cloth calls more its own: π times its clearance, up to 20 cm.

    Args:
        body: The body's triangles at rest.
        cloth: The cloth at rest, (G, 3), metres.
        faces: Its triangles.

    Proof: tests/fit/test_own_skin.py
    """
    feet = find_feet(body, cloth, faces)
    on = np.take_along_axis(body.faces[feet.faces], feet.barycentric.argmax(axis=1)[:, None], axis=1)[:, 0]
    reach = np.clip(ROUND * thickness(body, feet.points, feet.faces), LEAST_REACH, OWN_REACH)
    reach = np.maximum(reach, np.minimum(LOOSE * np.abs(feet.clearance), MOST_REACH))
    sources, rows = np.unique(on, return_inverse=True)
    limits = np.zeros(len(sources))
    np.maximum.at(limits, rows, reach)
    paths = paths_along(body.vertices, body.faces)
    both = (paths + paths.T).tocsr()
    starts, vertices = reached(both.indptr, both.indices, both.data, sources, limits)
    return OwnSkin(body, faces, feet, rows, starts, vertices)


def thickness(body: Tree, points: Points, faces: Int[np.ndarray, " Q"]) -> Float[np.ndarray, " Q"]:
    """How far it is through the body from points of its faces, straight inward, (Q,), metres; infinite if never."""
    inward = -body.pseudonormals[2][faces]
    flat = np.linalg.norm(inward, axis=1) == 0
    inward[flat] = [0.0, 1.0, 0.0]
    found = first_hit(body, points, inward, near=INWARD).distances
    return np.where(flat, np.inf, found)
