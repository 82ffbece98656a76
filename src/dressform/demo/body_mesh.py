"""The template mesh: half of the body's surface, found on a fine grid, evened out and mirrored."""

import igl
import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Faces, Points, VertexScalars
from dressform.demo.body_field import Field, blended, project, rough, value
from dressform.demo.body_parts import FieldPart
from dressform.demo.body_remesh import remesh
from dressform.mesh.topology import face_components

GRID = 0.004
"""Edge of the finest cells, metres: under half the narrowest gap between two fingers."""
LEVELS = 4
"""Halvings from the coarsest cells to the finest."""
LOW = np.array([0.0, -0.02, -0.35])
HIGH = np.array([0.95, 1.95, 0.35])
SLACK = 0.03
"""How much further out the union may lie than its outermost part, metres."""
DEEP = 3.0
"""How much deeper inside a thin part the first-order distance may say than it is."""
SIZE_BLEND = 4.0
"""Softness lengths over which edge lengths pass from one part to the next."""
CORNERS = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [0, 0, 1], [1, 0, 1], [1, 1, 1], [0, 1, 1]])


def half_surface(field: Field, *, grid: float = GRID) -> tuple[Points, Faces]:
    """Triangles of the field's zero set in x ≥ 0, the largest connected piece, counter-clockwise from outside."""
    cells = _cells_near_surface(field, grid)
    corners = (cells[:, None] + CORNERS).reshape(-1, 3)
    key = corners @ np.array([1, 1 << 12, 1 << 24])
    _, first, slot = np.unique(key, return_index=True, return_inverse=True)
    positions = LOW + corners[first] * grid
    vertices, faces, _ = igl.marching_cubes(value(field, positions), positions, slot.reshape(-1, 8).astype(np.int64))
    faces = faces.astype(np.int64)
    piece = face_components(faces, len(vertices))
    faces = faces[piece == np.bincount(piece).argmax()]
    a, b, c = vertices[faces[:, 0]], vertices[faces[:, 1]], vertices[faces[:, 2]]
    if np.einsum("fi,fi->", a, np.cross(b, c)) < 0:
        faces = faces[:, ::-1]
    used = np.unique(faces)
    number = np.full(len(vertices), -1)
    number[used] = np.arange(len(used))
    return vertices[used], number[faces]


def _cells_near_surface(field: Field, grid: float) -> Int[np.ndarray, "C 3"]:
    step = 1 << LEVELS
    shape = np.ceil((HIGH - LOW) / (grid * step)).astype(int)
    cells = np.stack(np.meshgrid(*[np.arange(n) for n in shape], indexing="ij"), axis=-1).reshape(-1, 3)
    halves = np.stack(np.meshgrid([0, 1], [0, 1], [0, 1], indexing="ij"), axis=-1).reshape(-1, 3)
    while step > 1:
        centres = LOW + (cells + 0.5) * grid * step
        distance, reach = rough(field, centres), 1.3 * grid * step + (SLACK if step > 2 else 0.0)
        near = (distance > -DEEP * reach) & (distance < reach)
        if step == 2:
            near |= np.abs(value(field, centres)) < reach
        cells = (cells[near][:, None] * 2 + halves).reshape(-1, 3)
        step //= 2
    return cells


def wanted_edges(
    field: Field, all_parts: list[FieldPart], fine: Float[np.ndarray, "D 5"], points: Points
) -> VertexScalars:
    """Edge length that the table requests at `points`, (V,), metres."""
    wanted = blended(field, points, np.array([part.edge for part in all_parts]), widen=SIZE_BLEND)
    for x, y, z, radius, finer in fine:
        away = np.linalg.norm(points - np.array([x, y, z]), axis=1) / radius
        wanted = np.minimum(wanted, finer + (wanted - finer) * np.clip(away - 1.0, 0.0, 1.0))
    return wanted


def template_mesh(
    field: Field,
    all_parts: list[FieldPart],
    fine: Float[np.ndarray, "D 5"],
    *,
    resolution: float = 1.0,
    grid: float = GRID,
) -> tuple[Points, Faces, int]:
    """A closed mirror-symmetric mesh of the field, and how many of its vertices are the half with x ≥ 0.

    Vertices of the half come first (those in the plane x = 0 among them), then the images of those with x > 0 in the
    same order. `fine` holds places with a radius and an edge length, (D, 5), metres; edges grow to the part's own over
    one more radius. `resolution` divides the edge lengths.
    """
    vertices, faces = half_surface(field, grid=grid)

    def size(points: Points) -> VertexScalars:
        return wanted_edges(field, all_parts, fine, points) / resolution

    vertices, faces = remesh(vertices, faces, size=size, project=lambda points: project(field, points, steps=2))
    border = vertices[:, 0] == 0.0
    image = np.where(border, np.arange(len(vertices)), len(vertices) + np.cumsum(~border) - 1)
    whole = np.concatenate([vertices, vertices[~border] * np.array([-1.0, 1.0, 1.0])])
    return whole, np.concatenate([faces, image[faces[:, ::-1]]]), len(vertices)
