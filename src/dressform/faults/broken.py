"""Broken cloth: triangles turned over, cloth through cloth, open seams, bent hard parts."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.spatial import cKDTree

from dressform.arrays import ClothPoints, Faces, Points
from dressform.faults.broken_kernels import turned_over
from dressform.mesh.geometry import face_areas, face_normals
from dressform.mesh.topology import components

SEAM_TOLERANCE = 1e-5
"""Vertices coincide when they are nearer than this share of the garment's diagonal."""


def folded(vertices: Points, faces: Faces) -> Bool[np.ndarray, " F"]:
    """Triangles that are turned over against the cloth around them, (F,).

    n · Σ min(A, A_q) n_q < 0 over the triangles q that share a corner with it.

    Source: our own form of the fold-over test n · n_smooth < 0 (common practice, no source).
    Proof: tests/faults/test_broken.py::test_a_vertex_pulled_over_its_ring_turns_triangles_over
    """
    triangles = np.ascontiguousarray(faces, dtype=np.int64)
    return turned_over(triangles, face_normals(vertices, faces), face_areas(vertices, faces), len(vertices))


def find_seams(vertices: ClothPoints) -> Int[np.ndarray, "N 2"]:
    """Pairs of vertices that coincide on the base shape and are not one vertex, (N, 2)."""
    reach = SEAM_TOLERANCE * float(np.linalg.norm(np.ptp(vertices, axis=0)))
    return np.asarray(cKDTree(vertices).query_pairs(reach, output_type="ndarray"), dtype=np.int64).reshape(-1, 2)


def seam_gaps(seams: Int[np.ndarray, "N 2"], moved: ClothPoints) -> Float[np.ndarray, " N"]:
    """Distance between the two vertices of each pair, (N,), metres."""
    return np.linalg.norm(moved[seams[:, 0]] - moved[seams[:, 1]], axis=1)


HARD_SIZE = 0.06
"""A connected piece with a diagonal of at most this counts as a hard part, metres: a button, a buckle, a clasp."""
HARD_VERTICES = 4
"""Fewer vertices cannot show a bend."""


def small_pieces(vertices: ClothPoints, faces: Faces) -> tuple[Int[np.ndarray, " _"], ...]:
    """Vertices of every connected piece small enough to be hardware rather than cloth."""
    labels = components(faces, len(vertices))
    order = np.argsort(labels, kind="stable")
    pieces = np.split(order, np.flatnonzero(np.diff(labels[order])) + 1)
    small = [np.linalg.norm(np.ptp(vertices[piece], axis=0)) <= HARD_SIZE for piece in pieces]
    return tuple(piece for piece, kept in zip(pieces, small) if kept and len(piece) >= HARD_VERTICES)


@dataclass(frozen=True)
class Bend:
    """How a hard part has moved.

    Attributes:
        distances: Departure of each vertex from the best rotation, shift and even scale, (N,), metres.
        scale: That scale.
    """

    distances: Float[np.ndarray, " N"]
    scale: float


def bend(base: Float[np.ndarray, "N 3"], moved: Float[np.ndarray, "N 3"]) -> Bend:
    """Best similarity from `base` to `moved` in the least squares sense, and what is left.

    Rotation R from the singular vectors of Σ moved baseᵀ, made proper; scale tr(R Σ) / Σ |base|². A part that turns
    or grows as a whole leaves nothing; one that bends, shears or thins leaves that.

    Source: [Kabsch1976], scale [Umeyama1991]. Proof: tests/faults/test_broken.py::test_a_similarity_does_not_bend
    """
    base_middle, moved_middle = base.mean(axis=0), moved.mean(axis=0)
    before, after = base - base_middle, moved - moved_middle
    left, values, right = np.linalg.svd(after.T @ before)
    signs = np.array([1.0, 1.0, 1.0 if np.linalg.det(left @ right) > 0 else -1.0])
    rotation = (left * signs) @ right
    spread = float((before**2).sum())
    scale = float((values * signs).sum()) / spread if spread > 0 else 1.0
    return Bend(np.linalg.norm(after - scale * before @ rotation.T, axis=1), scale)


def hard_bends(
    parts: Sequence[Int[np.ndarray, " _"]], base: ClothPoints, moved: ClothPoints
) -> Float[np.ndarray, " G"]:
    """Departure of each vertex of a hard part from that part's best similarity, 0 elsewhere, (G,), metres."""
    distances = np.zeros(len(base))
    for part in parts:
        distances[part] = bend(base[part], moved[part]).distances
    return distances
