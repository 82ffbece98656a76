"""What stances ask of the joint weights: cloth that has its own skin under it there must not lie in that skin."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import ClothPoints, Weights
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance, carry
from dressform.fit.fit import Fit
from dressform.lift.feet import Feet, find_feet
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree

ROOM = 5e-4
"""Kept from own skin at a stance, metres, where the cloth has more at rest: a fault is skin that shows."""
ROOM_SHARE = 0.5
"""Cloth that is nearer at rest keeps this share of its clearance."""
OWN_REACH = 0.10
"""Skin nearer than this at rest to the foot of a vertex is its own, metres; beyond lies a crease or another part."""
LOST = 0.05
"""Cloth farther from the skin than at rest by more than this has been left behind by its own, metres,"""
SUNK = 0.01
"""and of cloth deeper in the body than this the nearest skin may be that of the other side."""


@dataclass(frozen=True, eq=False)
class StanceView:
    """One stance on one shape: what no joint weights of the cloth change.

    Attributes:
        stance: The stance.
        weights: The shape, (K,).
        skin: The body there.
        cloth: The cloth at rest on that shape, (G, 3), metres.
    """

    stance: Stance
    weights: Weights
    skin: Tree
    cloth: ClothPoints


@dataclass(frozen=True, eq=False)
class StanceViews:
    """A fit at several stances on several shapes.

    Attributes:
        fit: The fit, with joint weights.
        tree: The body's triangles at the base.
        views: Each stance on each shape.
    """

    fit: Fit
    tree: Tree
    views: tuple[StanceView, ...]

    @classmethod
    def of(cls, fit: Fit, stances: Sequence[Stance], shapes: Sequence[Weights], tree: Tree | None) -> "StanceViews":
        """Pose the body for each."""
        body = fit.body
        assert body.skin is not None
        assert body.skeleton is not None
        tree = Tree(body.vertices, body.faces) if tree is None else tree
        views = []
        for stance in stances:
            maps = stance.maps(body.skin, body.skeleton)
            views += [StanceView(stance, one, tree.refit(carry(maps, body.at(one))), fit.at(one)) for one in shapes]
        return cls(fit, tree, tuple(views))

    @cached_property
    def feet(self) -> Feet:
        """Where the cloth stands at rest."""
        return find_feet(self.tree, self.fit.base, self.fit.garment.faces)

    @cached_property
    def need(self) -> Float[np.ndarray, " G"]:
        """Clearance that each vertex should keep, (G,), metres; what lies in the skin at rest has none to keep."""
        return np.minimum(ROOM, ROOM_SHARE * np.maximum(self.feet.clearance, 0.0))

    @cached_property
    def areas(self) -> Float[np.ndarray, " G"]:
        """Area of each vertex, (G,), m²."""
        return vertex_areas(self.fit.garment.vertices, self.fit.garment.faces)

    @property
    def skeleton(self) -> Skeleton:
        """The joints."""
        assert self.fit.body.skeleton is not None
        return self.fit.body.skeleton

    def demands(
        self, now: Skin, other: Skin, shares: Float[np.ndarray, " G"]
    ) -> tuple[Float[np.ndarray, "R G"], Float[np.ndarray, "R G"]]:
        """What each view asks: b and d of b ≤ d t, by the skin nearest to the cloth with the shares given."""
        lacks, gains = np.zeros((2, len(self.views), len(shares)))
        for row, view in enumerate(self.views):
            here, there = (carry(view.stance.maps(skin, self.skeleton), view.cloth) for skin in (now, other))
            cloth = here + shares[:, None] * (there - here)
            normals, points, own = self._skin_under(view, cloth)
            height = np.einsum("gx,gx->g", normals, here - points)
            gains[row] = np.where(own, np.einsum("gx,gx->g", normals, there - here), 0.0)
            lacks[row] = np.where(own, self.need - height, 0.0)
        return lacks, gains

    def short(self, skin: Skin) -> Float[np.ndarray, "R G"]:
        """By how much each vertex falls short in each view, (R, G), metres."""
        found = np.zeros((len(self.views), len(self.need)))
        for row, view in enumerate(self.views):
            cloth = carry(view.stance.maps(skin, self.skeleton), view.cloth)
            normals, points, own = self._skin_under(view, cloth)
            found[row] = np.where(own, self.need - np.einsum("gx,gx->g", normals, cloth - points), 0.0)
        return np.maximum(found, 0.0)

    def _skin_under(
        self, view: StanceView, cloth: ClothPoints
    ) -> tuple[Float[np.ndarray, "G 3"], ClothPoints, Bool[np.ndarray, " G"]]:
        """Outward normal and place of the nearest skin, or of the foot where that is lost; whether it is its own."""
        signed, found = signed_clearance(view.skin, cloth)
        faces, shares, points = found.faces.copy(), found.barycentric.copy(), found.points.copy()
        lost = (signed > self.feet.clearance + LOST) | (signed < np.minimum(self.feet.clearance, 0.0) - SUNK)
        faces[lost], shares[lost] = self.feet.faces[lost], self.feet.barycentric[lost]
        corners = self.tree.faces[faces]
        points[lost] = np.einsum("gc,gcx->gx", shares[lost], view.skin.vertices[corners[lost]])
        at_rest = np.einsum("gc,gcx->gx", shares, self.tree.vertices[corners])
        own = np.linalg.norm(at_rest - self.feet.points, axis=1) <= OWN_REACH
        own &= self.need > 0.0
        normals = np.einsum("gc,gcx->gx", shares, view.skin.pseudonormals[0][corners])
        lengths = np.linalg.norm(normals, axis=1, keepdims=True)
        return normals / np.maximum(lengths, np.finfo(float).tiny), points, own
