"""From a file's split vertices to one vertex per place, and back.

Vertices that a file splits for texture coordinates or normals are joined where they lie on an open edge, coincide
within `WELD_TOLERANCE` times the diagonal of the mesh, *and* every morph and joint weight agrees. A split always opens
the edges beside it, so no seam can open later; and what merely touches (lips, a button on cloth) is not sewn together.
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.skeleton import Skin
from dressform.formats.file_mesh import FileMesh
from dressform.mesh.topology import boundary_edges, weld

WELD_TOLERANCE = 1e-6
SKIN_TOLERANCE = 0.01
NO_VERTEX = -1
ROWS_AT_ONCE = 4096


@dataclass(frozen=True)
class Welded:
    """A mesh for computing and the way back to the file.

    Attributes:
        vertices: One per place, (V, 3), in the order in which the file first names them.
        faces: (F, 3), without triangles that have no area because two corners became one.
        face_parts: Part of each triangle, (F,).
        deltas: (K, V, 3).
        skin: Or None.
        file_to_welded: The welded vertex of each stored vertex, -1 for one that no triangle uses, (N,).
        kept_faces: Which of the file's triangles `faces` holds, (T,).
        notes: What was joined apart from plain seams, one sentence each.
    """

    vertices: Float[np.ndarray, "V 3"]
    faces: Int[np.ndarray, "F 3"]
    face_parts: Int[np.ndarray, " F"]
    deltas: Float[np.ndarray, "K V 3"]
    skin: Skin | None
    file_to_welded: Int[np.ndarray, " N"]
    kept_faces: Bool[np.ndarray, " T"]
    notes: tuple[str, ...]

    def gather(self, values: Float[np.ndarray, " N"]) -> Float[np.ndarray, " V"]:
        """Mean over the stored vertices of each welded one; stored NaN means "not given" and counts nowhere."""
        return gathered(values, self.file_to_welded, len(self.vertices))


def gathered(
    values: Float[np.ndarray, " N"], file_to_welded: Int[np.ndarray, " N"], count: int
) -> Float[np.ndarray, " V"]:
    """Mean over the stored vertices of each of `count` welded ones, (V,); stored NaN counts nowhere."""
    given = (file_to_welded != NO_VERTEX) & ~np.isnan(values)
    total = np.bincount(file_to_welded[given], weights=values[given], minlength=count)
    times = np.bincount(file_to_welded[given], minlength=count)
    return np.divide(total, times, out=np.full(count, np.nan), where=times > 0)


def weld_stored(stored: FileMesh) -> Welded:
    """Join the split vertices of a file; see the module's text for what counts as one vertex."""
    diagonal = float(np.linalg.norm(np.ptp(stored.vertices, axis=0)))
    tolerance = WELD_TOLERANCE * diagonal
    first, parted = _agreeing(stored, _places(stored, tolerance), tolerance)
    used = np.zeros(len(first), dtype=bool)
    used[first[stored.faces]] = True
    kept = np.flatnonzero(used)
    number = np.full(len(first), NO_VERTEX, dtype=np.int64)
    number[kept] = np.arange(len(kept))
    file_to_welded = number[first]
    faces = file_to_welded[stored.faces]
    flat = (faces[:, 0] == faces[:, 1]) | (faces[:, 1] == faces[:, 2]) | (faces[:, 2] == faces[:, 0])
    skin = None if stored.skin is None else Skin(stored.skin.joints[kept], stored.skin.weights[kept])
    return Welded(
        stored.vertices[kept],
        faces[~flat],
        stored.face_parts[~flat],
        stored.deltas[:, kept],
        skin,
        file_to_welded,
        ~flat,
        _notes(parted, int(flat.sum()), int((file_to_welded == NO_VERTEX).sum())),
    )


def _places(stored: FileMesh, tolerance: float) -> Int[np.ndarray, " N"]:
    """One label per place for the vertices on open edges; every other vertex is a place of its own."""
    labels = np.arange(len(stored.vertices))
    rim = np.unique(boundary_edges(stored.faces))
    labels[rim] = len(labels) + weld(stored.vertices[rim], tolerance=tolerance).file_to_welded
    return labels


def _agreeing(stored: FileMesh, labels: Int[np.ndarray, " N"], tolerance: float) -> tuple[Int[np.ndarray, " N"], int]:
    """First stored vertex of each place whose morphs and joints agree, (N,), and how many places had to be parted."""
    result = np.arange(len(labels))
    counts = np.bincount(labels)
    waiting = np.flatnonzero(counts[labels] > 1)
    parted = 0
    while waiting.size:
        _, where, group = np.unique(labels[waiting], return_index=True, return_inverse=True)
        leader = waiting[where][group]
        agrees = _agree(stored, waiting, leader, tolerance)
        result[waiting[agrees]] = leader[agrees]
        waiting = waiting[~agrees]
        parted += len(np.unique(labels[waiting]))
    return result, parted


def _agree(
    stored: FileMesh, vertices: Int[np.ndarray, " M"], leaders: Int[np.ndarray, " M"], tolerance: float
) -> Bool[np.ndarray, " M"]:
    agrees = np.full(len(vertices), True)
    for delta in stored.deltas:
        agrees &= np.abs(delta[vertices] - delta[leaders]).max(axis=1) <= tolerance
    if stored.skin is not None and stored.skeleton is not None:
        joint_count = len(stored.skeleton.names)
        for start in range(0, len(vertices), ROWS_AT_ONCE):  # one column per joint would fill the memory at once
            rows = slice(start, start + ROWS_AT_ONCE)
            one = Skin(stored.skin.joints[vertices[rows]], stored.skin.weights[vertices[rows]]).dense(joint_count)
            other = Skin(stored.skin.joints[leaders[rows]], stored.skin.weights[leaders[rows]]).dense(joint_count)
            agrees[rows] &= np.abs(one - other).max(axis=1) <= SKIN_TOLERANCE
    return agrees


def _notes(parted: int, flat: int, loose: int) -> tuple[str, ...]:
    said = (
        (parted, "places hold vertices that coincide but move apart; they were not joined."),
        (flat, "triangles have two corners in one place; they were left out of all measuring."),
        (loose, "vertices belong to no triangle; they stay where they are."),
    )
    return tuple(f"{count} {text}" for count, text in said if count)
