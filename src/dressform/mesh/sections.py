"""Plane sections of a mesh and the tape measures that are taken from them."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.spatial import ConvexHull, QhullError

from dressform.arrays import Faces, Points
from dressform.errors import ArgumentError
from dressform.mesh.flat import flat_mesh

Vector = Float[np.ndarray, "3"]
Segments = Float[np.ndarray, "S 2 3"]


@dataclass(frozen=True)
class Loop:
    """One curve of a section.

    Attributes:
        points: Its points in order, (N, 3), metres; the first is not repeated at the end.
        closed: Whether the last point joins the first.
    """

    points: Float[np.ndarray, "N 3"]
    closed: bool

    @property
    def length(self) -> float:
        """Length along the curve, metres."""
        ends = np.roll(self.points, -1, axis=0) if self.closed else self.points[1:]
        return float(np.linalg.norm(ends - self.points[: len(ends)], axis=1).sum())


def section(
    vertices: Points,
    faces: Faces,
    point: Vector,
    normal: Vector,
    *,
    face_mask: Bool[np.ndarray, " M"] | None = None,
) -> Segments:
    """Where a plane cuts the triangles, (S, 2, 3), metres: one segment per triangle that has corners on both sides.

    A vertex on the plane counts as above it, so that no segment is found twice and a triangle in the plane gives none.
    A segment may then shrink to a point. Segments run with the upper side of the plane to their left, seen from
    outside: around a convex body cut at y = const with normal +Y they run counter-clockwise seen from above.

    Args:
        vertices: The mesh, (V, 3), metres.
        faces: Its triangles, (F, 3).
        point: A point of the plane.
        normal: Its direction, of any length but 0.
        face_mask: The triangles to cut, (F,); all by default.

    Raises:
        ArgumentError: the normal has no length, or the mask has another count than the faces.
    """
    segments, _ = _cut(vertices, faces, point, normal, face_mask)
    return segments


def loops(
    vertices: Points,
    faces: Faces,
    point: Vector,
    normal: Vector,
    *,
    face_mask: Bool[np.ndarray, " M"] | None = None,
) -> tuple[Loop, ...]:
    """The section as curves, longest first; arguments and errors as for `section`.

    Segments are joined where they cross the same edge of the mesh, not where they come near one another. Where an edge
    has three or more triangles a curve goes on along any one of them, and the others end there.
    """
    segments, ends = _cut(vertices, faces, point, normal, face_mask)
    curves = []
    for chain, turned in _chains(ends):
        starts = turned.astype(np.int64)
        goals = 1 - starts
        points = segments[chain, starts]
        closed = bool(ends[chain[-1], goals[-1]] == ends[chain[0], starts[0]])
        if not closed:
            points = np.concatenate([points, segments[chain[-1:], goals[-1:]]])
        curves.append(Loop(points, closed))
    return tuple(sorted(curves, key=lambda curve: -curve.length))


def girth(
    vertices: Points,
    faces: Faces,
    point: Vector,
    normal: Vector,
    *,
    face_mask: Bool[np.ndarray, " M"] | None = None,
) -> float:
    """Length of a taut tape around the section, metres: the perimeter of its convex hull; 0 where the plane misses.

    Arguments and errors as for `section`. A section along one line is measured there and back.

    Proof: tests/mesh/test_sections.py::test_girth_of_an_elliptic_cylinder_is_the_perimeter_of_the_ellipse
    """
    return hull_perimeter(section(vertices, faces, point, normal, face_mask=face_mask), normal)


def hull_perimeter(segments: Segments, normal: Vector) -> float:
    """Perimeter of the convex hull of segments that lie in a plane of direction `normal`, metres."""
    if len(segments) == 0:
        return 0.0
    flat = segments.reshape(-1, 3) @ plane_axes(normal).T
    try:
        return float(ConvexHull(flat).area)  # in two dimensions Qhull's area is the perimeter
    except QhullError:  # all on one line
        along = np.linalg.svd(flat - flat.mean(axis=0), full_matrices=False)[2][0]
        return 2.0 * float(np.ptp(flat @ along))


def plane_axes(normal: Vector) -> Float[np.ndarray, "2 3"]:
    """Two unit axes that span the plane; with `normal` they make a right-handed frame.

    Raises:
        ArgumentError: the normal has no length.
    """
    unit = _unit(normal)
    first = np.cross(np.eye(3)[np.argmin(np.abs(unit))], unit)
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(unit, first)])


def _unit(normal: Vector) -> Vector:
    length = float(np.linalg.norm(normal))
    if not (np.isfinite(length) and length > 0):
        raise ArgumentError.of("section", "normal", "of some finite length", f"{normal}", "Give the plane a direction")
    return normal / length


def _cut(
    vertices: Points, faces: Faces, point: Vector, normal: Vector, face_mask: Bool[np.ndarray, " M"] | None
) -> tuple[Segments, Int[np.ndarray, "S 2"]]:
    """Segments, and for both ends the number of the mesh edge that is crossed there."""
    flat, triangles = flat_mesh("section", vertices, faces)
    if face_mask is not None:
        if len(face_mask) != len(triangles):
            raise ArgumentError.of(
                "section", "face_mask", f"one value for each of {len(triangles)} faces", len(face_mask), "Match them"
            )
        triangles = triangles[face_mask]
    heights = (flat - point) @ _unit(normal)
    above = heights[triangles] >= 0
    cut = above.any(axis=1) & ~above.all(axis=1)
    triangles, above = triangles[cut], above[cut]
    following = np.roll(above, -1, axis=1)
    rows = np.arange(len(triangles))
    entries, exits = np.argmax(~above & following, axis=1), np.argmax(above & ~following, axis=1)
    segments = np.zeros((len(triangles), 2, 3))
    ends = np.zeros((len(triangles), 2), dtype=np.int64)
    for side, corner in ((0, exits), (1, entries)):
        pair = np.sort(np.stack([triangles[rows, corner], triangles[rows, (corner + 1) % 3]], axis=1), axis=1)
        low, high = pair[:, 0], pair[:, 1]
        share = (heights[low] / (heights[low] - heights[high]))[:, None]
        segments[:, side] = flat[low] + share * (flat[high] - flat[low])
        ends[:, side] = low * len(flat) + high
    return segments, ends


def _chains(ends: Int[np.ndarray, "S 2"]) -> list[tuple[Int[np.ndarray, " N"], Bool[np.ndarray, " N"]]]:
    """Runs of segments that share mesh edges, and which of them are walked from end to start; open runs first.

    Neighbouring triangles that face opposite directions make opposite segments, so some runs are reversed.
    """
    touching: dict[int, list[int]] = {}
    for segment, keys in enumerate(ends.tolist()):
        for key in keys:
            touching.setdefault(key, []).append(segment)
    loose = np.array([[len(touching[key]) == 1 for key in keys] for keys in ends.tolist()], dtype=bool).reshape(-1, 2)
    beginnings = [(int(segment), side) for side in (0, 1) for segment in np.flatnonzero(loose[:, side])]
    used = np.zeros(len(ends), dtype=bool)
    chains = []
    for segment, side in [*beginnings, *((segment, 0) for segment in range(len(ends)))]:
        chain = _walk(segment, side, ends, touching, used)
        if chain:
            chains.append((np.array([link[0] for link in chain]), np.array([link[1] for link in chain], dtype=bool)))
    return chains


def _walk(
    segment: int, side: int, ends: Int[np.ndarray, "S 2"], touching: dict[int, list[int]], used: Bool[np.ndarray, " S"]
) -> list[tuple[int, bool]]:
    """Links from a segment entered at `side`, until no unused segment touches the edge where the last one ended."""
    chain = []
    while not used[segment]:
        used[segment] = True
        chain.append((segment, side == 1))
        key = int(ends[segment, 1 - side])
        onward = [other for other in touching[key] if not used[other]]
        if not onward:
            break
        segment = next((other for other in onward if ends[other, 0] == key), onward[0])
        side = 0 if ends[segment, 0] == key else 1
    return chain
