"""One mesh, many anatomies: carry the vertices part by part, then put them on the new surface."""

import numpy as np
from jaxtyping import Float
from scipy import sparse
from scipy.sparse.linalg import splu

from dressform.arrays import Faces, Points, VertexScalars
from dressform.demo.body_field import Field, carry, project
from dressform.demo.body_remesh import relax
from dressform.mesh.geometry import edge_lengths
from dressform.mesh.topology import edges

REACH = 0.012
"""Edge length that conducts fully, metres."""


class DiffusionStep:
    """One implicit step of diffusion over the mesh: solves (I + L) u = values, per column.

    An edge of length l conducts (l / reach)²: values mix over about `reach` where triangles are coarse, and hardly
    between the fine triangles of face and fingers, which parts of the body already move as one.
    """

    def __init__(self, vertices: Points, faces: Faces, *, reach: float = REACH) -> None:
        pairs = edges(faces)
        conducts = (edge_lengths(vertices, pairs) / reach) ** 2
        ends = (pairs.T.ravel(), pairs[:, ::-1].T.ravel())
        links = sparse.csr_array((np.tile(conducts, 2), ends), shape=(len(vertices), len(vertices)))
        system = sparse.eye_array(len(vertices)) + sparse.diags_array(links.sum(axis=1)) - links
        self._factor = splu(sparse.csc_matrix(system), permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})

    def __call__(self, values: Float[np.ndarray, "V C"]) -> Float[np.ndarray, "V C"]:
        """The values after the step, (V, C); constants stay as they are."""
        return self._factor.solve(values)


def mirrored(half: Float[np.ndarray, "H 3"], whole: Points) -> Points:
    """All vertices, when the half with x ≥ 0 is moved to `half`; those that were in the plane stay in it."""
    in_plane = whole[: len(half), 0] == 0.0
    half = half.copy()
    half[in_plane, 0] = 0.0
    return np.concatenate([half, half[~in_plane] * np.array([-1.0, 1.0, 1.0])])


def reshaped(old: Field, new: Field, vertices: Points, half: int, smooth: DiffusionStep) -> Points:
    """Vertices of the surface of `old`, moved to that of `new`, (V, 3); mirror symmetry is kept.

    The first `half` vertices are those with x ≥ 0. `smooth` evens out the displacement before it is put on the new
    surface.
    """
    carried = mirrored(carry(old, new, vertices[:half]), vertices)
    moved = vertices + smooth(carried - vertices)
    return mirrored(project(new, moved[:half]), vertices)


def settled(field: Field, vertices: Points, faces: Faces, half: int, size: VertexScalars, *, rounds: int) -> Points:
    """Vertices slid along the surface of `field` towards even triangles of the given `size`, (V, 3)."""
    right, right_faces = vertices[:half], faces[: len(faces) // 2]
    for _ in range(rounds):
        right = relax(right, right_faces, size[:half], lambda points: project(field, points, steps=3))
    return mirrored(right, vertices)
