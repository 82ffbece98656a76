"""Areas, normals and lengths of a triangle mesh."""

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Faces, FaceScalars, Points, VertexScalars
from dressform.mesh.flat import flat_mesh
from dressform.mesh.geometry_kernels import angle_weighted_sums, normals_and_areas


def face_normals(vertices: Points, faces: Faces) -> Float[np.ndarray, "F 3"]:
    """Unit normal of each triangle by the right-hand rule, (F, 3); zero where a triangle is degenerate.

    Degenerate: twice the area is at most 1e-8 of the longest edge squared.
    """
    normals, _ = normals_and_areas(*flat_mesh("face_normals", vertices, faces))
    return normals


def face_areas(vertices: Points, faces: Faces) -> FaceScalars:
    """Area of each triangle, (F,), m²."""
    _, areas = normals_and_areas(*flat_mesh("face_areas", vertices, faces))
    return areas


def vertex_areas(vertices: Points, faces: Faces) -> VertexScalars:
    """A third of the area of the triangles around each vertex, (V,), m². They sum to the area of the mesh."""
    thirds = np.repeat(face_areas(vertices, faces) / 3.0, 3)
    return np.bincount(np.ravel(faces), weights=thirds, minlength=len(vertices))


def vertex_normals(vertices: Points, faces: Faces) -> Float[np.ndarray, "V 3"]:
    """Unit normal of each vertex, (V, 3): triangle normals weighted by the angle at the vertex.

    The weights make the normal independent of how the surface is cut into triangles. Zero where no triangle of
    positive area meets the vertex, or where the normals cancel.

    Source: [Thurmer1998]. Proof: tests/mesh/test_geometry.py::test_vertex_normals_of_a_cube_ignore_its_diagonals
    """
    flat, flat_triangles = flat_mesh("vertex_normals", vertices, faces)
    normals, _ = normals_and_areas(flat, flat_triangles)
    sums = angle_weighted_sums(flat, flat_triangles, normals)
    lengths = np.sqrt(np.einsum("vi,vi->v", sums, sums))[:, None]
    return np.divide(sums, lengths, out=np.zeros_like(sums), where=lengths > 1e-12)


def edge_lengths(vertices: Points, edges: Int[np.ndarray, "E 2"]) -> Float[np.ndarray, " E"]:
    """Length of each edge, (E,), metres."""
    return np.linalg.norm(vertices[edges[:, 0]] - vertices[edges[:, 1]], axis=1)


def vertex_edge_length(vertices: Points, faces: Faces) -> VertexScalars:
    """Mean length of the triangle sides that end at each vertex, (V,), metres; 0 where no triangle uses the vertex.

    A side counts once for each triangle that it bounds, so an inner edge weighs twice a border edge.
    """
    tails, heads = np.ravel(faces), np.ravel(np.roll(faces, -1, axis=1))
    lengths = np.linalg.norm(vertices[tails] - vertices[heads], axis=1)
    ends = np.concatenate([tails, heads])
    totals = np.bincount(ends, weights=np.tile(lengths, 2), minlength=len(vertices))
    counts = np.bincount(ends, minlength=len(vertices))
    return np.divide(totals, counts, out=np.zeros(len(vertices)), where=counts > 0)


def barycentric(points: Float[np.ndarray, "N 3"], corners: Float[np.ndarray, "N 3 3"]) -> Float[np.ndarray, "N 3"]:
    """Barycentric coordinates of points in the planes of triangles, rows sum to 1, (N, 3)."""
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normal = np.cross(first, second)
    size = np.einsum("ni,ni->n", normal, normal)
    offset = points - corners[:, 0]
    v = np.einsum("ni,ni->n", np.cross(offset, second), normal) / size
    w = np.einsum("ni,ni->n", np.cross(first, offset), normal) / size
    return np.stack([1 - v - w, v, w], axis=1)
