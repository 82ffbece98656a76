"""Crossings decided by exact arithmetic, for the few pairs of triangles that floating point leaves open."""

import igl.predicates
import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Faces, Points

Pairs = Int[np.ndarray, "P 2"]
Verdicts = Bool[np.ndarray, " P"]
Corners = Float[np.ndarray, "P 3"]
Flat = Float[np.ndarray, "P 2"]


def faces_cross(
    vertices_a: Points,
    faces_a: Faces,
    vertices_b: Float[np.ndarray, "W 3"],
    faces_b: Int[np.ndarray, "H 3"],
    pairs: Pairs,
) -> Verdicts:
    """Whether the faces of each pair touch or cross, (P,); both must have a surface."""
    if len(pairs) == 0:
        return np.zeros(0, dtype=bool)
    kept_a, kept_b = np.unique(pairs[:, 0]), np.unique(pairs[:, 1])
    _, found, _ = igl.predicates.find_intersections(vertices_a, faces_a[kept_a], vertices_b, faces_b[kept_b])
    keys = kept_a[found[:, 0]] * len(faces_b) + kept_b[found[:, 1]]
    return np.isin(pairs[:, 0] * len(faces_b) + pairs[:, 1], keys)


def neighbours_cross(vertices: Points, faces: Faces, pairs: Pairs) -> Verdicts:
    """Whether the faces of each pair of one mesh meet anywhere but in the corners that they share, (P,).

    Faces that share one corner do if the side opposite it in one meets the other; faces that share two do if they
    are folded flat onto each other; faces that share all three lie on each other.
    """
    same = faces[pairs[:, 0], :, None] == faces[pairs[:, 1], None, :]
    shared = same.sum(axis=(1, 2))
    verdicts = shared == 3
    none, one, two = (np.flatnonzero(shared == count) for count in range(3))
    verdicts[none] = faces_cross(vertices, faces, vertices, faces, pairs[none])
    corners_a, corners_b = (vertices[faces[pairs[one, side]]] for side in (0, 1))
    at_a, at_b = same[one].any(axis=2).argmax(axis=1), same[one].any(axis=1).argmax(axis=1)
    verdicts[one] = _meets(_from(corners_a, at_a), _from(corners_b, at_b)) | _meets(
        _from(corners_b, at_b), _from(corners_a, at_a)
    )
    alone_a, alone_b = (~same[two].any(axis=2)).argmax(axis=1), (~same[two].any(axis=1)).argmax(axis=1)
    verdicts[two] = _folded(_from(vertices[faces[pairs[two, 0]]], alone_a), vertices[faces[pairs[two, 1], alone_b]])
    return verdicts


def _from(triangles: Float[np.ndarray, "P 3 3"], corner: Int[np.ndarray, " P"]) -> Float[np.ndarray, "P 3 3"]:
    """The triangles with their corners turned so that the given one comes first."""
    turned = (corner[:, None] + np.arange(3)) % 3
    return np.take_along_axis(triangles, turned[:, :, None], axis=1)


def _side(a: Corners, b: Corners, c: Corners, d: Corners) -> Int[np.ndarray, " P"]:
    """Exact sign of the volume a, b, c, d."""
    return np.asarray(igl.predicates.orient3d(*(np.ascontiguousarray(corner) for corner in (a, b, c, d))), dtype=int)


def _turn(a: Flat, b: Flat, c: Flat) -> Int[np.ndarray, " P"]:
    """Exact sign of the area a, b, c: that of a tetrahedron over it whose tip stands one below."""
    flat = [np.pad(corner, ((0, 0), (0, 1))) for corner in (a, b, c)]
    return _side(flat[0], flat[1], flat[2], flat[0] - (0.0, 0.0, 1.0))


def _meets(sides: Float[np.ndarray, "P 3 3"], triangles: Float[np.ndarray, "P 3 3"]) -> Verdicts:
    """Whether the side between the second and third corner touches the other triangle."""
    p, q = sides[:, 1], sides[:, 2]
    a, b, c = triangles.transpose(1, 0, 2)
    start, end = _side(a, b, c, p), _side(a, b, c, q)
    turns = np.stack([_side(p, q, a, b), _side(p, q, b, c), _side(p, q, c, a)])
    passes = (start * end <= 0) & ~((turns > 0).any(axis=0) & (turns < 0).any(axis=0))
    flat = np.flatnonzero((start == 0) & (end == 0))
    passes[flat] = _meets_flat(sides[flat], triangles[flat])
    return passes


def _meets_flat(sides: Float[np.ndarray, "P 3 3"], triangles: Float[np.ndarray, "P 3 3"]) -> Verdicts:
    """As `_meets`, all in one plane: an end inside the triangle, or a crossing with one of its sides."""
    if len(sides) == 0:
        return np.zeros(0, dtype=bool)
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    kept = (np.abs(normals).argmax(axis=1)[:, None] + (1, 2)) % 3  # seen along the axis that shows most of it
    p, q = (np.take_along_axis(sides[:, corner], kept, axis=1) for corner in (1, 2))
    a, b, c = (np.take_along_axis(triangles[:, corner], kept, axis=1) for corner in range(3))
    around = _turn(a, b, c)
    meets = np.zeros(len(sides), dtype=bool)
    for end in (p, q):
        meets |= np.stack([_turn(u, v, end) * around >= 0 for u, v in ((a, b), (b, c), (c, a))]).all(axis=0)
    for u, v in ((a, b), (b, c), (c, a)):
        at_u, at_v, at_p, at_q = _turn(p, q, u), _turn(p, q, v), _turn(u, v, p), _turn(u, v, q)
        in_line = (at_u == 0) & (at_v == 0)
        low = np.maximum(np.minimum(p, q), np.minimum(u, v))
        overlap = (low <= np.minimum(np.maximum(p, q), np.maximum(u, v))).all(axis=1)
        meets |= np.where(in_line, overlap, (at_u * at_v <= 0) & (at_p * at_q <= 0))
    return meets


def _folded(triangles: Float[np.ndarray, "P 3 3"], tips: Corners) -> Verdicts:
    """Whether each tip lies in the plane of its triangle, on the inner side of its second and third corner."""
    first, p, q = triangles.transpose(1, 0, 2)
    flat = np.flatnonzero(_side(p, q, first, tips) == 0)
    folded = np.zeros(len(triangles), dtype=bool)
    if len(flat):
        normals = np.cross(q[flat] - p[flat], first[flat] - p[flat])
        kept = (np.abs(normals).argmax(axis=1)[:, None] + (1, 2)) % 3
        u, v, own, other = (np.take_along_axis(points[flat], kept, axis=1) for points in (p, q, first, tips))
        folded[flat] = _turn(u, v, own) * _turn(u, v, other) > 0
    return folded
