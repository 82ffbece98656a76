"""How far the outlines of two meshes are apart, as an eye far away sees them.

What each mesh covers is filled in one picture, in parallel projection. The distance of the two is the depth of the
deepest band that only one of them covers: the Hausdorff distance of the two regions [Hausdorff1914]. Holes count, such
as the neck seen from above. Seen from behind an outline is its mirror image, so half the directions round are enough.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.spatial import cKDTree

from dressform.levels.outline_kernels import cover

Mesh = tuple[Float[np.ndarray, "_ 3"], Int[np.ndarray, "_ 3"]]
"""Vertices and triangles."""
CELLS = 800
"""So many pixels has the longer side of the picture: 1 mm each where a garment is 80 cm long."""
ROUND = 6
"""So many directions are looked from, over half a turn."""


@dataclass(frozen=True, eq=False)
class Eye:
    """Where an eye looks from.

    Attributes:
        words: In words, after `seen`.
        right: Unit vector to the right in the picture, (3,).
        up: Unit vector up in the picture, (3,).
    """

    words: str
    right: Float[np.ndarray, "3"]
    up: Float[np.ndarray, "3"]


def _round(degrees: float) -> Eye:
    words = {0.0: "from the front", 90.0: "from the side"}.get(degrees, f"from {degrees:g}° round")
    angle = np.radians(degrees)
    return Eye(words, np.array([np.cos(angle), 0.0, -np.sin(angle)]), np.array([0.0, 1.0, 0.0]))


DIRECTIONS = (
    *(_round(180.0 * step / ROUND) for step in range(ROUND)),
    Eye("from above", np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, -1.0])),
)


@dataclass(frozen=True, eq=False)
class Outlines:
    """What two meshes cover, seen from one direction.

    Attributes:
        direction: Where from.
        first: Pixels that the first covers, (H, W); the top row first.
        second: Pixels that the second covers.
        pixel: Side of a pixel, metres.
    """

    direction: Eye
    first: Bool[np.ndarray, "H W"]
    second: Bool[np.ndarray, "H W"]
    pixel: float

    @property
    def apart(self) -> float:
        """Depth of the deepest band that only one covers, metres, to within a pixel."""
        alone = self.first & ~self.second, self.second & ~self.first
        return max(_depth(alone[0], self.second), _depth(alone[1], self.first)) * self.pixel


@dataclass(frozen=True, eq=False)
class OutlineGap:
    """How far two outlines are apart from where they are farthest.

    Attributes:
        direction: Where from.
        apart: How far, metres.
        pixel: To within so much, metres.
    """

    direction: Eye
    apart: float
    pixel: float


def outlines(first: Mesh, second: Mesh, direction: Eye) -> Outlines:
    """What two meshes cover from one direction.

    Proof: tests/levels/test_outline.py, against the closed forms of rectangles and of polygons in a circle
    """
    axes = np.stack([direction.right, -direction.up], axis=1)
    flat = [points @ axes for points, _ in (first, second)]
    low = np.min([one.min(axis=0) for one in flat], axis=0)
    high = np.max([one.max(axis=0) for one in flat], axis=0)
    pixel = max(float((high - low).max()) / CELLS, np.finfo(float).tiny)
    columns, rows = (int(number) for number in np.ceil((high - low) / pixel).astype(int) + 2)
    both = [
        cover((points - low) / pixel + 1.0, faces, rows, columns) for points, (_, faces) in zip(flat, (first, second))
    ]
    return Outlines(direction, both[0], both[1], pixel)


def farthest_apart(first: Mesh, second: Mesh, directions: Sequence[Eye] = DIRECTIONS) -> OutlineGap:
    """How far the outlines of two meshes are apart from where they are farthest."""
    found = (outlines(first, second, one) for one in directions)
    return max((OutlineGap(one.direction, one.apart, one.pixel) for one in found), key=lambda one: one.apart)


def _depth(alone: Bool[np.ndarray, "H W"], other: Bool[np.ndarray, "H W"]) -> float:
    """How far the farthest pixel of one region is from another region, in pixels."""
    if not alone.any():
        return 0.0
    inner = np.zeros_like(other)
    inner[1:-1, 1:-1] = other[:-2, 1:-1] & other[2:, 1:-1] & other[1:-1, :-2] & other[1:-1, 2:]
    rim = cKDTree(np.argwhere(other & ~inner))
    return float(np.max(rim.query(np.argwhere(alone))[0]))
