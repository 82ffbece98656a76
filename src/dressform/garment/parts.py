"""Pieces of a garment: which are connected, which are hard, and which are sewn together."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import ConvexHull, cKDTree

from dressform.arrays import ClothPoints, Faces
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.topology import boundary_edges, components

SEAM_REACH = 1e-5  # metres; vertices so near at the base are one point of the cloth
HARD_EXTENT = 0.08  # metres; a closed piece that is no longer than this is a button, a buckle or a badge
BOX = 1.8  # a box along the axes around a hard piece is at most so many times as long as it is, a little over √3
HARD_SHARE = 0.05  # and holds at most this share of the garment's vertices
HARD_WORDS = frozenset(
    ("badge", "brooch", "buckle", "button", "clasp", "eyelet", "grommet", "rivet", "snap", "stud", "toggle")
)
"""A part is hard by its name where that ends with one of these: `brass buttons`, `buckle_2`; not `button band`."""
STIFF = 0.5
"""A part that its file calls at least so stiff is hard, and one that it calls less stiff is not."""


@dataclass(frozen=True)
class Pieces:
    """The connected pieces of a garment; vertices that coincide do not connect, only triangles do.

    Attributes:
        of_vertices: Piece of each vertex, (G,), numbered by the lowest vertex.
        sizes: Vertices in each piece, (P,).
        extents: Length of each piece, (P,), metres: the longest side of the smallest box around it, turned with it. Of
            a piece that is open, or too large to be hard, the diagonal of its box along the axes.
        closed: Whether a piece has triangles and no open edge, (P,).
        hard: Whether a piece is taken for a hard part, (P,).
    """

    of_vertices: Int[np.ndarray, " G"]
    sizes: Int[np.ndarray, " P"]
    extents: Float[np.ndarray, " P"]
    closed: Bool[np.ndarray, " P"]
    hard: Bool[np.ndarray, " P"]

    def hard_vertices(self) -> Bool[np.ndarray, " G"]:
        """Which vertices belong to hard parts, (G,)."""
        return self.hard[self.of_vertices]


def find_pieces(garment: Garment, *, hard_extent: float = HARD_EXTENT, hard_share: float = HARD_SHARE) -> Pieces:
    """Connected pieces, and which of them are small, closed and therefore hard: buttons, buckles, toggles.

    A piece is hard when it is closed, no longer than `hard_extent`, metres, and holds at most `hard_share` of the
    vertices. Its length does not depend on how it is turned. The bounds are common practice, no source. A piece whose
    part says so by its name (`HARD_WORDS`) is hard whatever its size, open ones too. Where the file says how stiff a
    part is, that alone counts: it is hard from `STIFF` on.

    Proof: tests/garment/test_parts.py::test_what_the_file_says_of_stiffness_counts_before_name_and_size
    """
    labels = components(garment.faces, len(garment.vertices))
    count = int(labels.max(initial=-1)) + 1
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    np.minimum.at(low, labels, garment.vertices)
    np.maximum.at(high, labels, garment.vertices)
    closed = np.zeros(count, dtype=bool)
    closed[labels[garment.faces.ravel()]] = True
    closed[labels[boundary_edges(garment.faces).ravel()]] = False
    sizes = np.bincount(labels, minlength=count)
    extents = np.linalg.norm(high - low, axis=1)
    small = closed & (sizes <= hard_share * len(labels)) & (extents <= BOX * hard_extent)
    for piece in np.flatnonzero(small):
        extents[piece] = _length(garment.vertices[labels == piece])
    hard = closed & (extents <= hard_extent) & (sizes <= hard_share * len(labels))
    hard |= _wholly(garment, labels, [_is_called_hard(garment, name) for name in garment.part_names])
    hard &= ~_wholly(garment, labels, [garment.stiffness.get(name, STIFF) < STIFF for name in garment.part_names])
    return Pieces(labels, sizes, extents, closed, hard)


def _wholly(garment: Garment, labels: Int[np.ndarray, " G"], chosen: Sequence[bool]) -> Bool[np.ndarray, " P"]:
    """Pieces all of whose triangles belong to chosen parts, (P,)."""
    faces = np.array(chosen, dtype=bool)[garment.face_parts]
    wholly = np.zeros(int(labels.max(initial=-1)) + 1, dtype=bool)
    wholly[labels[garment.faces[faces].ravel()]] = True
    wholly[labels[garment.faces[~faces].ravel()]] = False
    return wholly


def _is_called_hard(garment: Garment, name: str) -> bool:
    """Whether a part is hard by what its file says, or else by its name."""
    return garment.stiffness[name] >= STIFF if name in garment.stiffness else is_named_hard(name)


def is_named_hard(name: str) -> bool:
    """Whether a part is hard by its name: the last word of it, in singular or plural, numbers left out."""
    words = re.findall(r"[a-z]+", re.sub(r"([a-z])([A-Z])", r"\1 \2", name).lower())
    return bool(words) and (words[-1] in HARD_WORDS or words[-1].removesuffix("s") in HARD_WORDS)


def _length(points: Float[np.ndarray, "N 3"]) -> float:
    """Longest side of the box around a piece, turned with it, metres.

    One axis of the box is the direction in which the piece is thinnest, by its principal axes; the other two are those
    of the smallest rectangle around its outline across that. The two longer principal axes would not do: those of a
    square point anywhere.
    """
    away = points - points.mean(axis=0)
    axes = np.linalg.eigh(away.T @ away)[1]
    flat = away @ axes[:, 1:]
    if np.ptp(flat, axis=0).min() < SEAM_REACH:
        return float(np.ptp(away @ axes, axis=0).max())
    outline = flat[ConvexHull(flat).vertices]
    sides = np.roll(outline, -1, axis=0) - outline
    along = sides / np.linalg.norm(sides, axis=1, keepdims=True)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    spans = np.stack([np.ptp(outline @ along.T, axis=0), np.ptp(outline @ across.T, axis=0)])
    rectangle = spans[:, np.argmin(spans.prod(axis=0))]
    return float(max(rectangle.max(), np.ptp(away @ axes[:, 0])))


def seam_pairs(vertices: ClothPoints, *, reach: float = SEAM_REACH) -> Int[np.ndarray, "N 2"]:
    """Pairs of vertices that coincide at the base, lower index first, in rising order, (N, 2)."""
    if not _any_coincide(vertices, reach):
        return np.zeros((0, 2), dtype=np.int64)
    pairs = cKDTree(vertices).query_pairs(reach, output_type="ndarray").astype(np.int64)
    pairs.sort(axis=1)
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]


def seam_groups(vertices: ClothPoints, *, reach: float = SEAM_REACH) -> Int[np.ndarray, " G"]:
    """Number of the point of the cloth at each vertex, (G,): vertices that coincide share one number."""
    pairs = seam_pairs(vertices, reach=reach)
    if not len(pairs):
        return np.arange(len(vertices))
    graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(vertices), len(vertices)))
    return connected_components(graph, directed=False)[1].astype(np.int64)


def seam_leaders(vertices: ClothPoints, faces: Faces) -> Int[np.ndarray, " G"]:
    """Of each vertex the first of those that coincide with it, (G,), so that cloth cut along a seam is one again.

    Vertices whose normals disagree stay apart: they are the two faces of a doubled cloth.

    Proof: tests/garment/test_seam_leaders.py
    """
    group = seam_groups(vertices)
    if len(np.unique(group)) == len(group):
        return np.arange(len(vertices))
    normals = vertex_normals(vertices, faces)
    first = np.full(int(group.max()) + 1, len(vertices))
    np.minimum.at(first, group, np.arange(len(vertices)))
    leader = first[group]
    apart = np.zeros(len(first), dtype=bool)
    apart[group[np.einsum("gx,gx->g", normals, normals[leader]) < 0.0]] = True
    return np.where(apart[group], np.arange(len(vertices)), leader)


def _any_coincide(vertices: ClothPoints, reach: float) -> bool:
    """Whether two vertices may lie within `reach`: a quick test on neighbours sorted along a slanting line."""
    slant = np.array([0.48, 0.62, 0.6206])  # about unit length, and square to no axis of a tidy mesh
    rank = np.argsort(vertices @ slant)
    before, after = vertices[rank[:-1]], vertices[rank[1:]]
    return bool(np.any((after - before) @ slant <= reach))
