"""A robust cotangent Laplacian: positive semidefinite, no negative weights, bounded at slivers."""

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import coo_array, csr_array, dia_array

from dressform.arrays import Faces, Points, VertexScalars
from dressform.mesh.flat import flat_mesh
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.laplacian_kernels import flip_to_delaunay
from dressform.mesh.sides import Sides

MOLLIFY = 1e-5  # least slack of each triangle inequality, as a share of the mean side


def side_lengths(vertices: Points, faces: Faces, *, mollify: float = MOLLIFY) -> Float[np.ndarray, "F 3"]:
    """Length of the side opposite each corner, (F, 3), metres.

    Every triangle then satisfies a + b > c + `mollify` × mean side: coincident corners and needles become thin but
    proper triangles, and triangles that were proper change by at most that amount.

    Source: [Sharp2020], section 4.5.
    """
    a, b, c = (vertices[faces[:, corner]] for corner in range(3))
    lengths = np.sqrt(np.stack([np.einsum("fi,fi->f", side, side) for side in (c - b, a - c, b - a)], axis=1))
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
    flipped = triangles.copy()
    flip_to_delaunay(flipped, lengths, _twins(triangles, count))
    return _from_lengths(lengths, flipped, count)


def lumped_mass(vertices: Points, faces: Faces) -> dia_array:
    """Diagonal matrix of `vertex_areas`, (V, V), m²."""
    return _diagonal(vertex_areas(vertices, faces))


def _twins(faces: Faces, count: int) -> Int[np.ndarray, " H"]:
    """The half-edge (3 · face + opposite corner) across each half-edge; -1 unless just two triangles agree there."""
    sides = Sides(faces, count)
    halves = np.argsort(sides.of_faces.ravel(), kind="stable")
    halves = halves - halves % 3 + (halves + 2) % 3  # side k starts at corner k and lies opposite corner k + 2
    starts = (np.cumsum(sides.uses) - sides.uses)[(sides.uses == 2) & (sides.balance == 0)]
    twins = np.full(3 * len(faces), -1)
    twins[halves[starts]], twins[halves[starts + 1]] = halves[starts + 1], halves[starts]
    return twins


def _from_lengths(lengths: Float[np.ndarray, "F 3"], faces: Faces, count: int) -> csr_array:
    """Half cotangents from side lengths, gathered into a matrix."""
    half = lengths.sum(axis=1) / 2.0
    area = np.sqrt(half * np.prod(half[:, None] - lengths, axis=1))
    squares = lengths**2
    weights = (squares.sum(axis=1, keepdims=True) - 2.0 * squares) / (8.0 * area[:, None])
    tails, heads, values = faces[:, (1, 2, 0)].ravel(), faces[:, (2, 0, 1)].ravel(), weights.ravel()
    low, high = np.minimum(tails, heads), np.maximum(tails, heads)
    upper = csr_array(coo_array((values, (low, high)), shape=(count, count)))
    degrees = np.bincount(tails, values, count) + np.bincount(heads, values, count)
    return csr_array(_diagonal(degrees) - upper - upper.T)


def _diagonal(values: VertexScalars) -> dia_array:
    return dia_array((values[None], [0]), shape=(len(values), len(values)))
