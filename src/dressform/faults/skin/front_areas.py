"""Samples the area of a surface where something holds, sampled finely only where that changes."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.skin.cloth_cells import SAMPLE_EDGE
from dressform.mesh.geometry import face_areas
from dressform.mesh.tree import Tree

MAX_PIECES = 24
"""A side of a triangle is cut into no more pieces than this."""

Told = Callable[[Float[np.ndarray, "N 3"], Float[np.ndarray, "N 3"], Int[np.ndarray, " N"]], Bool[np.ndarray, " N"]]
"""Whether something holds at points of a surface, from their positions, unit normals and nearest vertices."""


@dataclass(frozen=True)
class AreaSamples:
    """Samples of a surface where something holds.

    Attributes:
        points: Where they are, (N, 3), metres.
        sizes: Area that each stands for, m², (N,).
        vertices: Vertex of the surface nearest to each within its triangle, (N,).
    """

    points: Float[np.ndarray, "N 3"]
    sizes: Float[np.ndarray, " N"]
    vertices: Int[np.ndarray, " N"]


def front_areas(
    surface: Tree,
    normals: Float[np.ndarray, "V 3"],
    asked: Bool[np.ndarray, " V"],
    crossed: Bool[np.ndarray, " F"],
    told: Told,
) -> AreaSamples:
    """Samples of the area where something holds.

    A triangle that nothing crosses and whose corners agree counts as a whole, in thirds at its corners, or not at all;
    any other is cut into pieces with sides of at most `SAMPLE_EDGE`.

    Args:
        surface: The mesh.
        normals: Unit outward normals of its vertices.
        asked: Vertices to ask; a triangle takes part if one of its corners is asked.
        crossed: Triangles that another surface crosses.
        told: Whether it holds at points of the surface.
    """
    rows = np.flatnonzero(asked)
    state = np.zeros(len(surface.vertices), dtype=bool)
    state[rows] = told(surface.vertices[rows], normals[rows], rows)
    corners = state[surface.faces]
    counted = asked[surface.faces].any(axis=1)
    mixed = counted & (crossed | (corners.any(axis=1) & ~corners.all(axis=1)))
    whole = np.flatnonzero(counted & corners.all(axis=1) & ~mixed)
    at = surface.faces[whole].ravel()
    thirds = np.repeat(face_areas(surface.vertices, surface.faces[whole]) / 3.0, 3)
    points, sizes, vertices = _pieces(surface, normals, np.flatnonzero(mixed), told)
    return AreaSamples(
        np.concatenate([surface.vertices[at], points]),
        np.concatenate([thirds, sizes]),
        np.concatenate([at, vertices]),
    )


def _pieces(
    surface: Tree, normals: Float[np.ndarray, "V 3"], faces: Int[np.ndarray, " M"], told: Told
) -> tuple[Float[np.ndarray, "P 3"], Float[np.ndarray, " P"], Int[np.ndarray, " P"]]:
    """Middle, area and nearest corner of the pieces of some triangles where it holds."""
    sides = surface.vertices[surface.faces[faces]]
    longest = np.linalg.norm(sides - np.roll(sides, -1, axis=1), axis=2).max(axis=1, initial=0.0)
    orders = np.clip(np.ceil(longest / SAMPLE_EDGE), 1, MAX_PIECES).astype(np.int64)
    tables = [_middles(order) for order in range(1, MAX_PIECES + 1)]
    shares = np.concatenate([np.zeros((0, 3)), *(tables[order - 1] for order in orders)])
    corners = surface.faces[np.repeat(faces, orders**2)]
    points = np.einsum("pc,pcx->px", shares, surface.vertices[corners])
    along = np.einsum("pc,pcx->px", shares, normals[corners])
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), np.finfo(float).tiny)
    sizes = np.repeat(face_areas(surface.vertices, surface.faces[faces]) / orders**2, orders**2)
    nearest = np.take_along_axis(corners, shares.argmax(axis=1)[:, None], axis=1)[:, 0]
    found = told(points, along, nearest)
    return points[found], sizes[found], nearest[found]


def _middles(order: int) -> Float[np.ndarray, "P 3"]:
    """Barycentric coordinates of the middles of the order² equal pieces of a triangle, (P, 3)."""
    rows, columns = np.meshgrid(np.arange(order), np.arange(order), indexing="ij")
    up = np.stack([columns, rows], axis=-1)[rows + columns < order]
    down = np.stack([columns, rows], axis=-1)[rows + columns < order - 1]
    inner = np.concatenate([up + 1.0 / 3.0, down + 2.0 / 3.0]) / order
    return np.column_stack([1.0 - inner.sum(axis=1), inner])
