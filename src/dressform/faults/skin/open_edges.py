"""Open edges of a garment: which are the border of an opening or a hem, and which go round a hole in the cloth."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from dressform.arrays import ClothPoints, Faces
from dressform.mesh.geometry import face_normals
from dressform.mesh.topology import boundary_edges

HOLE = 0.25
"""A loop of open edges shorter than this, with the cloth around it, is a hole and no opening for a part of the body,
metres. Common practice, no source; the head of a child goes through 0.4."""
ROUND = 0.5
"""Cloth lies around a loop where its normals look away from the normal of the loop by more than this share."""
SLIT = 1e-3
"""A loop that encloses less than this share of its length squared is a slit, which has no normal."""

TINY = np.finfo(float).tiny


@dataclass(frozen=True)
class OpenEdges:
    """The open edges of a garment.

    Attributes:
        ends: Ends of each, in the direction in which its triangle runs along it, (E, 2).
        opening: Whether it belongs to the border of the garment, of an opening or a hem, and not to a hole, (E,).
    """

    ends: Int[np.ndarray, "E 2"]
    opening: Bool[np.ndarray, " E"]


def find_open_edges(vertices: ClothPoints, faces: Faces) -> OpenEdges:
    """The open edges of a garment, and which of them go round a hole.

    A loop of open edges has a vector area, ½ Σ p × q over its edges. Along the outer border of a sheet the cloth's
    normals agree with it, round a hole they oppose it, at the end of a tube they are across. A hole is a short loop of
    the second kind, or a short slit.

    Args:
        vertices: The cloth, (G, 3), metres.
        faces: Its triangles, (F, 3), joined where vertices coincide.

    Proof: tests/faults/skin/test_open_edges.py
    """
    ends = boundary_edges(faces) if len(faces) else np.zeros((0, 2), dtype=np.int64)
    if not len(ends):
        return OpenEdges(ends, np.zeros(0, dtype=bool))
    count = len(vertices)
    joins = coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(count, count))
    _, loop = np.unique(connected_components(joins, directed=False)[1][ends[:, 0]], return_inverse=True)
    start, end = vertices[ends].transpose(1, 0, 2)
    lengths = np.linalg.norm(end - start, axis=1)
    whole = np.bincount(loop, lengths)
    middle = _summed(loop, 0.5 * lengths[:, None] * (start + end)) / np.maximum(whole, TINY)[:, None]
    crosses = 0.5 * np.cross(start - middle[loop], end - middle[loop])
    vector = _summed(loop, crosses)
    size = np.linalg.norm(vector, axis=1)
    normal = vector / np.maximum(size, TINY)[:, None]
    cloth = face_normals(vertices, faces)[_triangles(faces, ends, count)]
    agreement = np.bincount(loop, lengths * np.einsum("ex,ex->e", cloth, normal[loop]))
    around = (agreement < -ROUND * whole) | (size < SLIT * whole**2)
    return OpenEdges(ends, ~(around & (whole < HOLE))[loop])


def _summed(loop: Int[np.ndarray, " E"], values: Float[np.ndarray, "E 3"]) -> Float[np.ndarray, "L 3"]:
    """Sum of the vectors of each loop, (L, 3)."""
    sums = np.zeros((int(loop.max()) + 1, 3))
    np.add.at(sums, loop, values)
    return sums


def _triangles(faces: Faces, ends: Int[np.ndarray, "E 2"], count: int) -> Int[np.ndarray, " E"]:
    """The triangle of each open edge, (E,)."""
    keys = (faces * count + np.roll(faces, -1, axis=1)).ravel()
    order = np.argsort(keys, kind="stable")
    return order[np.searchsorted(keys[order], ends @ [count, 1])] // 3
