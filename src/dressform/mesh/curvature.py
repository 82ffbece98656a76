"""How strongly a surface bends outward at its vertices."""

import numpy as np
from jaxtyping import Float

from dressform.arrays import Faces, Points, VertexScalars
from dressform.mesh.geometry import vertex_areas, vertex_normals
from dressform.mesh.topology import adjacency, edges

FAINT = 1e-9  # share of a vertex's weight that keeps its three unknowns solvable where edges are too few


def convex_curvature(vertices: Points, faces: Faces) -> VertexScalars:
    """Largest convex normal curvature at each vertex, (V,), 1/m; 0 where no direction bends outward.

    Along an edge e from a vertex with normal n the normal curvature is −2 n·e / |e|². The second fundamental form is
    the least squares fit to the edges of the vertex, then the mean by area over the vertex and its neighbours, so that
    a rough facet does not speak alone; the largest eigenvalue is what is returned. Exact on a sphere whose normals
    are, up to that mean, which on edges of length h lowers it by O(h²).

    Source: edge curvature as in [Taubin1995b], restated for a least squares fit.
    Proof: tests/mesh/test_curvature.py::test_a_sphere_bends_by_one_over_its_radius
    """
    forms = _forms(vertices, faces)
    areas = vertex_areas(vertices, faces)
    around = adjacency(faces, len(vertices))
    mean = around @ (areas[:, None] * forms) + areas[:, None] * forms
    total = around @ areas + areas
    mean = np.divide(mean, total[:, None], out=np.zeros_like(mean), where=total[:, None] > 0)
    return np.maximum(np.linalg.eigvalsh(mean.reshape(-1, 3, 3))[:, 2], 0.0)


def _forms(vertices: Points, faces: Faces) -> Float[np.ndarray, "V 9"]:
    """Second fundamental form of each vertex as a tensor of space, row by row, (V, 9), 1/m; convex is positive."""
    count = len(vertices)
    pairs = edges(faces)
    tails, heads = np.concatenate([pairs, pairs[:, ::-1]]).T
    normals = vertex_normals(vertices, faces)
    first, second = _tangents(normals)
    along = vertices[heads] - vertices[tails]
    squares = np.maximum(np.einsum("ex,ex->e", along, along), np.finfo(float).tiny)
    bends = -2.0 * np.einsum("ex,ex->e", normals[tails], along) / squares
    u, v = (np.einsum("ex,ex->e", along, axis[tails]) for axis in (first, second))
    flat = np.maximum(u * u + v * v, np.finfo(float).tiny)
    terms = np.stack([u * u, 2 * u * v, v * v]) / flat
    matrix, right = np.zeros((count, 3, 3)), np.zeros((count, 3, 1))
    for i in range(3):
        right[:, i, 0] = np.bincount(tails, terms[i] * bends, count)
        for j in range(3):
            matrix[:, i, j] = np.bincount(tails, terms[i] * terms[j], count)
    matrix += (FAINT * np.bincount(tails, minlength=count) + FAINT)[:, None, None] * np.eye(3)
    a, b, c = np.linalg.solve(matrix, right)[:, :, 0].T
    form = a[:, None, None] * first[:, :, None] * first[:, None, :]
    form = form + c[:, None, None] * second[:, :, None] * second[:, None, :]
    mixed = first[:, :, None] * second[:, None, :]
    return (form + b[:, None, None] * (mixed + mixed.transpose(0, 2, 1))).reshape(-1, 9)


def _tangents(normals: Float[np.ndarray, "V 3"]) -> tuple[Float[np.ndarray, "V 3"], Float[np.ndarray, "V 3"]]:
    """Two unit axes perpendicular to each normal; zero where there is no normal."""
    helper = np.eye(3)[np.argmin(np.abs(normals), axis=1)]
    first = np.cross(helper, normals)
    lengths = np.linalg.norm(first, axis=1, keepdims=True)
    first = np.divide(first, lengths, out=np.zeros_like(first), where=lengths > 0)
    return first, np.cross(normals, first)
