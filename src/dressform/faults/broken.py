"""Broken cloth: triangles turned over, cloth through cloth, open seams, bent hard parts."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, Faces, Points
from dressform.faults.kernels.broken import turned_over
from dressform.garment.parts import Pieces
from dressform.mesh.geometry import face_areas, face_normals


def folded(vertices: Points, faces: Faces) -> Bool[np.ndarray, " F"]:
    """Triangles that are turned over against the cloth around them, (F,).

    n · Σ min(A, A_q) n_q < 0 over the triangles q that share a corner with it.

    Source: our own form of the fold-over test n · n_smooth < 0 (common practice, no source).
    Proof: tests/faults/test_broken.py::test_a_vertex_pulled_over_its_ring_turns_triangles_over
    """
    triangles = np.ascontiguousarray(faces, dtype=np.int64)
    return turned_over(triangles, face_normals(vertices, faces), face_areas(vertices, faces), len(vertices))


def seam_gaps(seams: Int[np.ndarray, "N 2"], moved: ClothPoints) -> Float[np.ndarray, " N"]:
    """Distance between the two vertices of each pair, (N,), metres."""
    return np.linalg.norm(moved[seams[:, 0]] - moved[seams[:, 1]], axis=1)


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
    """Best similarity from `base` to `moved` in the least-squares sense, and the remaining distances.

    Rotation R from the singular vectors of Σ moved baseᵀ, made proper; scale tr(R Σ) / Σ |base|². A part that turns or
    grows as a whole has no distance; one that bends, shears or thins does.

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


def hard_bends(pieces: Pieces, base: ClothPoints, moved: ClothPoints) -> Float[np.ndarray, " G"]:
    """Departure of each vertex of a hard part from that part's best similarity, 0 elsewhere, (G,), metres."""
    distances = np.zeros(len(base))
    hard = np.flatnonzero(pieces.hard_vertices())
    labels = pieces.of_vertices[hard]
    for piece in np.unique(labels):
        part = hard[labels == piece]
        distances[part] = bend(base[part], moved[part]).distances
    return distances
