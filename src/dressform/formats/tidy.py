"""Finds what is untidy about a body, and checks that its inside can still be determined."""

from pathlib import Path

import numpy as np

from dressform.arrays import Faces, Points, Queries
from dressform.errors import FileError
from dressform.mesh.geometry import face_areas, face_normals
from dressform.mesh.inside import winding_numbers
from dressform.mesh.topology import audit

PROBES = 400
PROBE_SHARE_OF_SIZE = 1e-3
NEEDED_AGREEMENT = 0.8


def tidy_body(path: Path, vertices: Points, faces: Faces) -> tuple[Faces, tuple[str, ...]]:
    """The triangles turned outward, and one sentence for each thing found.

    Inside is determined by the generalised winding number [Jacobson2013]: just under a triangle it must round to 1 or
    more,
    and just over it to less (where pieces overlap, as eyes in a head do, 2 and 1). Eyes, nails, an inner mouth, open
    edges, and a few flipped or repeated triangles pass.

    Raises:
        FileError: for more than a fifth of the area this fails, so that inside cannot be told.
    """
    found = audit(vertices, faces)
    notes = found.notes()
    if found.volumes.sum() < 0:
        faces = faces[:, ::-1].copy()
        notes = ("The whole mesh was inside out; it was turned.", *audit(vertices, faces).notes())
    under, over = _probes(vertices, faces)
    turns = np.rint(winding_numbers(vertices, faces, np.concatenate([under, over])))
    below, above = turns[: len(under)], turns[len(under) :]
    agreement = float(np.mean((below >= 1) & (above < below)))
    if agreement < NEEDED_AGREEMENT:
        reason = " ".join(audit(vertices, faces).notes()) or "It encloses nothing."
        problem = f"inside and outside cannot be told for {1 - agreement:.0%} of its surface: {reason.rstrip('.')}"
        raise FileError.of(path, "body", problem, "Close its surface and turn its triangles outward")
    return faces, notes


def _probes(vertices: Points, faces: Faces) -> tuple[Queries, Queries]:
    """Points just under and just over triangles chosen evenly by area."""
    reach = np.cumsum(face_areas(vertices, faces))
    chosen = np.searchsorted(reach, (np.arange(PROBES) + 0.5) / PROBES * reach[-1])
    step = PROBE_SHARE_OF_SIZE * float(np.ptp(vertices, axis=0).max()) * face_normals(vertices, faces)[chosen]
    centres = vertices[faces[chosen]].mean(axis=1)
    return centres - step, centres + step
