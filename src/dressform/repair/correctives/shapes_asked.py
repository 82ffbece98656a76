"""Shapes of which demands at a stance are taken, and which corners of the range these are."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Weights
from dressform.body.range import Range
from dressform.mesh.tree import Tree
from dressform.proof.at_stance import PosedPair
from dressform.proof.linear_mesh import LinearMesh

MOST_NEW = 4
"""Corners of the range that are added at a time."""
LOSS_PRICE = 10.0
"""Cloth and skin that were as they should be before weigh this many times what was not: a target must not cost that."""
SHARE = 0.7
"""A corner of the range speaks for the vertices that it takes this share of their worst depth."""

Lines = tuple[Int[np.ndarray, " L"], Int[np.ndarray, "L 3"], Float[np.ndarray, "L 3"], Float[np.ndarray, " L"]]
"""Vertices of the body, corners of the cloth's triangle before or behind each, unit ways outward, heights in metres."""


@dataclass(frozen=True)
class Shortage:
    """What falls short at a stance, over the shapes looked at.

    Attributes:
        short: By how much all falls short, summed, metres.
        count: Vertices of cloth and of skin that do.
        deepest: The most that any does, metres.
        lost: Of what falls short, that which did not before there were targets, metres.
    """

    short: float
    count: int
    deepest: float
    lost: float = 0.0

    @property
    def priced(self) -> float:
        """By how much all falls short, with what was lost at `LOSS_PRICE`, metres."""
        return self.short + LOSS_PRICE * self.lost

    @classmethod
    def of(cls, depths: Float[np.ndarray, " N"]) -> "Shortage":
        """Of what each falls short by; negative where it does not."""
        lack = np.maximum(depths, 0.0)
        return cls(float(lack.sum()), int((lack > 0).sum()), float(lack.max(initial=0.0)))


@dataclass(eq=False)
class ShapeOfBody:
    """The body of one shape at a stance, and what the demands there have held.

    Attributes:
        weights: The shape, (K,).
        tree: The body's triangles at the stance.
        rest: The body at rest, (B, 3), metres.
        outward: Normal of each vertex of the body, (B, 3).
        unfolded: Triangles that the blend does not fold, (F,).
        open: Triangles of the skin looked at that are seen from outside past the body, (F,).
        lifted: Cloth vertices that have fallen short, (G,).
        covered: Vertices of the body that have lain bare, (B,).
        lines: From vertices of the body to the cloth as it was last: vertex, corners there, way and height, metres.
    """

    weights: Weights
    tree: Tree
    rest: Float[np.ndarray, "B 3"]
    outward: Float[np.ndarray, "B 3"]
    unfolded: Bool[np.ndarray, " F"]
    open: Bool[np.ndarray, " F"]
    lifted: Bool[np.ndarray, " G"]
    covered: Bool[np.ndarray, " B"]
    lines: Lines | None = None


def threatening_corners(pair: PosedPair, cloth: LinearMesh, vertices: Int[np.ndarray, " N"]) -> list[Weights]:
    """The corners of the range that press most of some vertices deepest under the skin at their feet.

    Along the skin's normal at the base the height over the foot is affine in the weights, so its corner is known.
    """
    feet, box = pair.case.feet, pair.case.box
    corners, share = pair.body.faces[feet.faces[vertices]], feet.barycentric[vertices]
    foot = np.einsum("vc,vcmx->vmx", share, pair.body.terms[corners])
    normals = pair.body.tree.pseudonormals[2][feet.faces[vertices]]
    heights = np.einsum("vmx,vx->vm", cloth.terms[vertices] - foot, normals)
    return deepest_corners(box, heights, most=MOST_NEW)


def deepest_corners(box: Range, heights: Float[np.ndarray, "N M"], *, most: int) -> list[Weights]:
    """The corners at which heights, affine in the weights, are least and below 0: a few that speak for most."""
    ends, least = _ends(box, heights)
    found: list[Weights] = []
    left = np.minimum(least, 0.0)
    while left.min(initial=0.0) < 0 and len(found) < most:
        corner = ends[int(np.argmin(left))]
        found.append(corner)
        left = np.where(heights[:, 0] + heights[:, 1:] @ corner < SHARE * least, 0.0, left)
    return found


def _ends(box: Range, heights: Float[np.ndarray, "N M"]) -> tuple[Float[np.ndarray, "N K"], Float[np.ndarray, " N"]]:
    """The corner of the range at which each height is least, (N, K), and that height, (N,)."""
    slopes = heights[:, 1:]
    ends = np.where(slopes * box.low < slopes * box.high, box.low, box.high)
    return ends, heights[:, 0] + (ends * slopes).sum(axis=1)


def frames_of(normals: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3 3"]:
    """Two unit vectors across each normal, then the normal, (N, 3, 3)."""
    aside = np.where(np.abs(normals[:, :1]) < 0.9, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]])
    first = unit(np.cross(normals, aside))
    return np.stack([first, np.cross(normals, first), normals], axis=1)


def unit(ways: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3"]:
    return ways / np.maximum(np.linalg.norm(ways, axis=1, keepdims=True), 1e-12)
