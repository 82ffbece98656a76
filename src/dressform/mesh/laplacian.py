"""The cotangent Laplacian, made robust: positive semidefinite, no negative weights, no blow-up at slivers."""

import igl
import numpy as np
from jaxtyping import Float
from scipy.sparse import coo_array, csr_array, dia_array

from dressform.arrays import Faces, Points
from dressform.mesh.flat import flat_mesh
from dressform.mesh.geometry import vertex_areas

MOLLIFY = 1e-5  # least slack of each triangle inequality, as a share of the mean side


def side_lengths(vertices: Points, faces: Faces, *, mollify: float = MOLLIFY) -> Float[np.ndarray, "F 3"]:
    """Length of the side opposite each corner, (F, 3), metres.

    Every triangle then satisfies a + b > c + `mollify` × mean side: coincident corners and needles become thin but
    proper triangles, and triangles that were proper change by at most that amount.

    Source: [Sharp2020], section 4.5.
    """
    corners = vertices[faces]
    lengths = np.linalg.norm(np.roll(corners, -1, axis=1) - np.roll(corners, -2, axis=1), axis=2)
    slack = lengths.sum(axis=1) - 2.0 * lengths.max(axis=1)
    return lengths + max(0.0, mollify * float(lengths.mean()) - float(slack.min()))


def cotangent(vertices: Points, faces: Faces, *, mollify: float = MOLLIFY) -> csr_array:
    """The cotangent Laplacian of the intrinsic Delaunay triangulation, (V, V), symmetric, positive semidefinite.

    (L u)_i = Σ_j w_ij (u_i − u_j): rows sum to 0, the diagonal is positive, u · L u is the Dirichlet energy. Edges are
    flipped on the surface, not in space, until every w_ij between two triangles is ≥ 0; the energy of a linear
    function on a flat patch is the same before and after. Borders are free (no flux). An edge with three or more
    triangles is left as it is, and each of its triangles adds its own energy: cloth that branches stays positive
    semidefinite.

    Source: cotangent weights [Pinkall1993], flips [Fisher2007], mollified lengths [Sharp2020].
    Proof: tests/mesh/test_laplacian.py::test_eigenvalues_on_the_sphere_are_those_of_spherical_harmonics
    """
    flat, triangles = flat_mesh("cotangent", vertices, faces)
    count = len(flat)
    if len(triangles) == 0:
        return csr_array((count, count))
    lengths = side_lengths(flat, triangles, mollify=mollify)
    lengths, triangles = igl.intrinsic_delaunay_triangulation(lengths, triangles)[:2]
    return _from_lengths(lengths, triangles.astype(np.int64), count)


def lumped_mass(vertices: Points, faces: Faces) -> dia_array:
    """Diagonal matrix of `vertex_areas`, (V, V), m²."""
    areas = vertex_areas(vertices, faces)
    return dia_array((areas[None], [0]), shape=(len(areas), len(areas)))


def _from_lengths(lengths: Float[np.ndarray, "F 3"], faces: Faces, count: int) -> csr_array:
    """Half cotangents from side lengths, gathered into a matrix."""
    half = lengths.sum(axis=1) / 2.0
    area = np.sqrt(half * np.prod(half[:, None] - lengths, axis=1))
    squares = lengths**2
    weights = (squares.sum(axis=1, keepdims=True) - 2.0 * squares) / (8.0 * area[:, None])
    tails, heads = np.roll(faces, -1, axis=1).ravel(), np.roll(faces, -2, axis=1).ravel()
    values = weights.ravel()
    rows = np.concatenate([tails, heads, tails, heads])
    columns = np.concatenate([heads, tails, tails, heads])
    entries = np.concatenate([-values, -values, values, values])
    return csr_array(coo_array((entries, (rows, columns)), shape=(count, count)))
