"""Cloth with too few vertices: edges of a region are collapsed until the rest are long."""

import numpy as np
from jaxtyping import Bool, Int

from dressform.arrays import Faces, Points
from dressform.demo.tailor.cloth import Cloth

MIN_AGREEMENT = 0.3  # cosine between a triangle's normals before and after, below which an edge is left alone


def coarsened(cloth: Cloth, where: Bool[np.ndarray, " V"], *, edge: float) -> Cloth:
    """Collapse the shortest edges inside a region until none there is shorter than `edge`, metres.

    Edges on seams and openings, and all that touch them, stay; so do edges whose collapse would fold the cloth or
    join what is not neighbouring.
    """
    vertices, faces, labels = cloth.vertices.copy(), cloth.faces.copy(), np.stack([cloth.panels, cloth.parts], axis=1)
    free = where & ~_on_seams(cloth)
    while True:
        vertices, faces, labels, count = _pass(vertices, faces, labels, free, edge)
        if count == 0:
            break
    return Cloth(vertices, faces, labels[:, 0], labels[:, 1]).keep(np.ones(len(faces), dtype=bool))


def _on_seams(cloth: Cloth) -> Bool[np.ndarray, " V"]:
    """Vertices whose triangles belong to more than one panel, or that lie on an opening."""
    lowest = np.full(len(cloth.vertices), np.iinfo(np.int64).max)
    highest = np.full(len(cloth.vertices), -1)
    for corner in range(3):
        np.minimum.at(lowest, cloth.faces[:, corner], cloth.panels)
        np.maximum.at(highest, cloth.faces[:, corner], cloth.panels)
    seams = lowest != highest
    seams[cloth.boundary.ravel()] = True
    return seams


def _pass(
    vertices: Points, faces: Faces, labels: Int[np.ndarray, "F 2"], free: Bool[np.ndarray, " V"], edge: float
) -> tuple[Points, Int[np.ndarray, "T 3"], Int[np.ndarray, "T 2"], int]:
    """Collapse short edges, shortest first, no two of which share a neighbourhood; and how many."""
    around: dict[int, set[int]] = {}
    near = np.flatnonzero(free[faces].any(axis=1))
    for face, corners in zip(near.tolist(), faces[near].tolist()):
        for corner in corners:
            around.setdefault(corner, set()).add(face)
    edges = Cloth.of_faces(vertices, faces[near]).edges
    edges = edges[free[edges].all(axis=1)]
    length = np.linalg.norm(vertices[edges[:, 0]] - vertices[edges[:, 1]], axis=1)
    order = np.argsort(length, kind="stable")
    locked: set[int] = set()
    alive = np.ones(len(faces), dtype=bool)
    count = 0
    for first, second in edges[order[length[order] < edge]].tolist():
        if first in locked or second in locked:
            continue
        rings = [set(faces[sorted(around[end])].ravel().tolist()) for end in (first, second)]
        if locked & (rings[0] | rings[1]) or len(rings[0] & rings[1]) != 4:
            continue
        middle, gone = (vertices[first] + vertices[second]) / 2, sorted(around[first] & around[second])
        if not _keeps_facing(vertices, faces[sorted(around[first] ^ around[second])], (first, second), middle):
            continue
        alive[gone] = False
        rest = sorted(around[second] - set(gone))
        faces[rest] = np.where(faces[rest] == second, first, faces[rest])
        vertices[first] = middle
        locked |= rings[0] | rings[1]
        count += 1
    return vertices, faces[alive], labels[alive], count


def _keeps_facing(vertices: Points, faces: Faces, moved: tuple[int, int], place: np.ndarray) -> bool:
    """Whether no triangle turns away when both ends of an edge move to one place."""
    before = vertices[faces]
    after = np.where(np.isin(faces, moved)[..., None], place, before)
    normals = [np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]) for corner in (before, after)]
    sizes = [np.linalg.norm(normal, axis=1) for normal in normals]
    return bool(np.all((normals[0] * normals[1]).sum(axis=1) > MIN_AGREEMENT * sizes[0] * sizes[1]))
