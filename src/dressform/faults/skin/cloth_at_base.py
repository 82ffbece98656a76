"""Cloth that lies in the body before anything moves: how much, and which of it is a tucked rim."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import VertexScalars
from dressform.faults.kernels.sample import corner_points, piece_areas
from dressform.faults.skin.cloth_cells import SAMPLE_EDGE, cut_cells
from dressform.faults.skin.cloth_sides import ClothSides, clearance
from dressform.faults.skin.tucked_rims import Rims, find_rims
from dressform.mesh.geometry import face_areas
from dressform.mesh.topology import components
from dressform.mesh.tree import Tree

MAX_PIECES = 24
"""A side of a triangle inside the body is cut into no more pieces than this."""
RIM_SHARE = 0.5
"""A piece of cloth of which more than this share lies in the body is sunk: no rim of it counts as tucked in."""
MOST_TUCKED = 0.05
"""Where rims are a larger share of a piece of cloth than this, none of them counts as tucked in. Common practice, no
source: 15 mm of the hem of a garment for the trunk are 1 to 3 %."""


@dataclass(frozen=True)
class ClothAtBase:
    """The cloth that lies in the body at the base.

    Attributes:
        inside: Area of it around each cloth vertex, tucked rims left out, m², (G,).
        tucked: Area of tucked rims in the body around each cloth vertex, m², (G,).
        share: `inside` over the garment's area, 0 to 1.
        rims: The cloth along the tucked edges.
        strict: Triangles of pieces of which nothing is excused, (F,).
    """

    inside: VertexScalars
    tucked: VertexScalars
    share: float
    rims: Rims
    strict: Bool[np.ndarray, " F"]

    def excuses(self, faces: Int[np.ndarray, " N"], points: Float[np.ndarray, "N 3"]) -> Bool[np.ndarray, " N"]:
        """Whether points of the cloth, each on one of its triangles, may lie in the body as part of a rim, (N,)."""
        return self.rims.holds(faces, points) & ~self.strict[faces]


def find_cloth_at_base(cloth: Tree, body: Tree, trusted: Bool[np.ndarray, " F"], sides: ClothSides) -> ClothAtBase:
    """Find the cloth that lies in the body at the base.

    A tucked rim is cloth in the body within `TUCK` of a tucked edge, along the cloth; see `find_rims`. A piece that
    lies in the body for the most part has none: it does not end in the body, it is in it. Nor has a piece whose rims
    would be more than `MOST_TUCKED` of it.

    Args:
        cloth: The garment at the base; after a repair, at the repaired base.
        body: The base body.
        trusted: Body triangles whose normal tells inside from outside, (F,).
        sides: On which side of the skin this cloth lies.

    Proof: tests/faults/skin/test_skin_in_front.py
    """
    count, areas = len(cloth.vertices), face_areas(cloth.vertices, cloth.faces)
    rims = find_rims(cloth.vertices, cloth.faces, sides.signed)
    found = [_crossing(cloth, body, trusted, sides), _whole(cloth, sides)]
    sizes, faces, vertices, points = (np.concatenate(column) for column in zip(*found))
    pieces = components(rims.faces, count)[rims.faces[:, 0]]
    whole = _summed(pieces, areas, count)
    shares = _summed(pieces[faces], sizes, count) / np.maximum(whole, np.finfo(float).tiny)
    rim_like = rims.holds(faces, points)
    rim_shares = _summed(pieces[faces[rim_like]], sizes[rim_like], count) / np.maximum(whole, np.finfo(float).tiny)
    strict = ((shares > RIM_SHARE) | (rim_shares > MOST_TUCKED))[pieces]
    tucked = rim_like & ~strict[faces]
    inside, rim = _summed(vertices[~tucked], sizes[~tucked], count), _summed(vertices[tucked], sizes[tucked], count)
    total = float(areas.sum())
    return ClothAtBase(
        inside,
        rim,
        float(inside.sum()) / total if total > 0 else 0.0,
        rims,
        strict,
    )


Samples = tuple[Float[np.ndarray, " N"], Int[np.ndarray, " N"], Int[np.ndarray, " N"], Float[np.ndarray, "N 3"]]
"""Area, triangle, nearest vertex and position of samples of cloth in the body."""


def _crossing(cloth: Tree, body: Tree, trusted: Bool[np.ndarray, " F"], sides: ClothSides) -> Samples:
    """Samples of the triangles that cross the skin, as far as they lie in the body."""
    chosen = np.flatnonzero(sides.crossed)
    cells = cut_cells(cloth, body, sides, chosen, _orders(cloth, np.arange(len(cloth.faces))))
    points = cells.points(cloth)
    signed, _ = clearance(body, trusted, points, sides.nearest[cells.vertices])
    outside = np.ones(len(signed))
    _, sizes, _ = piece_areas(cells.areas(cloth), cells.orders, cells.bounds, signed, outside)
    kept = sizes > 0
    return sizes[kept], cells.faces[kept], cells.vertices[kept], points[kept]


def _whole(cloth: Tree, sides: ClothSides) -> Samples:
    """Samples of the triangles that lie in the body as a whole."""
    chosen = np.flatnonzero(~sides.crossed & (sides.signed[cloth.faces] < 0).all(axis=1))
    faces, orders = cloth.faces[chosen], np.minimum(_orders(cloth, chosen), MAX_PIECES)
    cells = np.tile(np.eye(3), (len(chosen), 1, 1))
    points, shares, bounds = corner_points(cloth.vertices, faces, cells, orders)
    inside, outside = -np.ones(len(points)), np.ones(len(points))
    _, sizes, _ = piece_areas(face_areas(cloth.vertices, faces), orders, bounds, inside, outside)
    owners = np.repeat(np.arange(len(chosen)), np.diff(bounds))
    nearest = np.take_along_axis(faces[owners], np.argmax(shares, axis=1)[:, None], axis=1)[:, 0]
    return sizes, chosen[owners], nearest, points


def _summed(numbers: Int[np.ndarray, " N"], values: Float[np.ndarray, " N"], count: int) -> Float[np.ndarray, " G"]:
    """Sum of the values of each number, (G,)."""
    sums = np.zeros(count)
    np.add.at(sums, numbers, values)
    return sums


def _orders(mesh: Tree, faces: Int[np.ndarray, " M"]) -> Int[np.ndarray, " M"]:
    """Pieces along a side of each triangle, so that sides of pieces are at most `SAMPLE_EDGE` long, (M,)."""
    corners = mesh.vertices[mesh.faces[faces]]
    longest = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2).max(axis=1, initial=0.0)
    return np.maximum(np.ceil(longest / SAMPLE_EDGE), 1).astype(np.int64)
