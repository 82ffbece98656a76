"""One mesh, many anatomies: carry the vertices part by part, then put them on the new surface."""

import numpy as np
from jaxtyping import Float
from scipy import sparse
from scipy.sparse.linalg import splu

from dressform.arrays import Faces, Points
from dressform.demo.body_field import Field, carry, project
from dressform.mesh.topology import adjacency

SPREAD = 6.0
"""Smoothing of the carried displacement, in squared edges: parts hand over across about three triangles."""


def smooth(faces: Faces, values: Float[np.ndarray, "V C"], *, spread: float) -> Float[np.ndarray, "V C"]:
    """One implicit step of diffusion over the mesh graph: solve (I + spread L) u = values, per column."""
    links = adjacency(faces, len(values)).astype(float)
    degree = np.asarray(links.sum(axis=1)).ravel()
    system = sparse.eye_array(len(values)) * 1.0 + spread * (sparse.diags_array(degree) - links) / 6.0
    solver = splu(sparse.csc_matrix(system), permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})
    return solver.solve(values)


def mirrored(half: Points, whole: Points) -> Points:
    """All vertices, when the half with x ≥ 0 is moved to `half`; those that were in the plane stay in it."""
    in_plane = whole[: len(half), 0] == 0.0
    half = half.copy()
    half[in_plane, 0] = 0.0
    return np.concatenate([half, half[~in_plane] * np.array([-1.0, 1.0, 1.0])])


def reshaped(old: Field, new: Field, vertices: Points, faces: Faces, half: int) -> Points:
    """Vertices of the surface of `old`, moved to that of `new`, (V, 3); mirror symmetry is kept.

    The first `half` vertices are those with x ≥ 0.
    """
    carried = mirrored(carry(old, new, vertices[:half]), vertices)
    moved = vertices + smooth(faces, carried - vertices, spread=SPREAD)
    return mirrored(project(new, moved[:half]), vertices)
