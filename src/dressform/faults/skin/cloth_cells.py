"""Cuts cloth into pieces small enough to find what lies under the skin between its vertices."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.faults.kernels.sample import corner_points
from dressform.faults.skin.cloth_sides import ClothSides
from dressform.mesh.geometry import face_areas
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree

SAMPLE_EDGE = 0.004
"""Pieces into which a crossing triangle is cut have sides of at most this length, metres; on skin that bends with a
radius of 1 cm or more they stay within 0.2 mm of it."""
MAX_PIECES = 8
"""A side is cut into no more pieces than this at once; coarser cloth is first quartered where the skin is near."""
QUARTERS = np.array(
    [
        [[1.0, 0.0, 0.0], [0.5, 0.5, 0.0], [0.5, 0.0, 0.5]],
        [[0.5, 0.5, 0.0], [0.0, 1.0, 0.0], [0.0, 0.5, 0.5]],
        [[0.5, 0.0, 0.5], [0.0, 0.5, 0.5], [0.0, 0.0, 1.0]],
        [[0.0, 0.5, 0.5], [0.5, 0.0, 0.5], [0.5, 0.5, 0.0]],
    ]
)
"""Corners of the four quarters of a triangle, barycentric."""


@dataclass(frozen=True)
class Cells:
    """Cloth triangles, or parts of them, cut into pieces.

    Attributes:
        orders: Pieces along a side of each cell, (M,).
        bounds: Where the corners of the pieces of each cell start, (M + 1,).
        sizes: Area of each cell over that of its triangle, (M,).
        cell_faces: Triangle of each cell, (M,).
        faces: Triangle of each corner, (N,).
        corners: Corners of that triangle, (N, 3).
        shares: Where in it each corner of a piece is, barycentric, (N, 3).
        vertices: The nearest corner of the triangle, (N,).
    """

    orders: Int[np.ndarray, " M"]
    bounds: Int[np.ndarray, " M1"]
    sizes: Float[np.ndarray, " M"]
    cell_faces: Int[np.ndarray, " M"]
    faces: Int[np.ndarray, " N"]
    corners: Int[np.ndarray, "N 3"]
    shares: Float[np.ndarray, "N 3"]
    vertices: Int[np.ndarray, " N"]

    def points(self, cloth: Tree) -> Float[np.ndarray, "N 3"]:
        """Corners of the pieces on a shape, metres."""
        return np.einsum("nc,ncx->nx", self.shares, cloth.vertices[self.corners])

    def areas(self, cloth: Tree) -> Float[np.ndarray, " M"]:
        """Area of each cell on a shape, m²."""
        return self.sizes * face_areas(cloth.vertices, cloth.faces[self.cell_faces])


def cut_cells(
    cloth: Tree,
    body: Tree,
    sides: ClothSides,
    chosen: Int[np.ndarray, " K"],
    orders: Int[np.ndarray, " C"],
) -> Cells:
    """Cut the chosen triangles; coarse ones are first quartered while the skin may pass through a quarter.

    A cell that keeps farther from the skin than its corners are from its middle lies on one side of it and is left
    whole. So cost follows the length of the line along which cloth and skin cross, however coarse the cloth.
    """
    done: list[tuple[Int[np.ndarray, " M"], Float[np.ndarray, "M 3 3"], Int[np.ndarray, " M"]]] = []
    faces, order = chosen, orders[chosen]
    cells = np.tile(np.eye(3), (len(faces), 1, 1))
    while True:
        coarse = order > MAX_PIECES
        done.append((faces[~coarse], cells[~coarse], order[~coarse]))
        faces, cells, order = faces[coarse], cells[coarse], order[coarse]
        if not faces.size:
            break
        corners = np.einsum("mcb,mbx->mcx", cells, cloth.vertices[cloth.faces[faces]])
        middles = corners.mean(axis=1)
        radii = np.linalg.norm(corners - middles[:, None], axis=2).max(axis=1)
        distances = closest(body, middles, start_faces=sides.nearest[cloth.faces[faces, 0]]).distances
        aside = distances > radii
        done.append((faces[aside], cells[aside], np.ones(int(aside.sum()), dtype=np.int64)))
        faces, order = np.repeat(faces[~aside], 4), np.repeat((order[~aside] + 1) // 2, 4)
        cells = np.einsum("qcb,mbk->mqck", QUARTERS, cells[~aside]).reshape(-1, 3, 3)
    faces, cells, order = (np.concatenate(each) for each in zip(*done))
    _, shares, bounds = corner_points(cloth.vertices, cloth.faces[faces], cells, order)
    sizes = np.abs(np.linalg.det(cells))
    owners = np.repeat(faces, np.diff(bounds))
    corners = cloth.faces[owners]
    nearest = np.take_along_axis(corners, np.argmax(shares, axis=1)[:, None], axis=1)[:, 0]
    return Cells(order, bounds, sizes, faces, owners, corners, shares, nearest)
