"""Pieces of the skin's triangles, small enough that each is seen whole or not at all."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.skin.hidden_skin import HiddenSkin
from dressform.mesh.tree import Tree

SKIN_EDGE = 0.004
"""Skin that the cloth crosses is sampled at pieces with sides of at most this length, metres."""
MAX_PIECES = 6
"""A side is cut into no more pieces than this."""


@dataclass(frozen=True)
class SkinPieces:
    """Pieces of the body's triangles: corners of the triangle (N, 3), barycentric middle (N, 3), area (N,) in m², the
    hidden corner nearest to the middle (N,), the number of the triangle (N,), rising, and a number that no other piece
    of the body has, however finely its triangle is cut, (N,)."""

    corners: Int[np.ndarray, "N 3"]
    shares: Float[np.ndarray, "N 3"]
    areas: Float[np.ndarray, " N"]
    vertices: Int[np.ndarray, " N"]
    triangles: Int[np.ndarray, " N"]
    numbers: Int[np.ndarray, " N"]

    def part(self, kept: Bool[np.ndarray, " N"]) -> "SkinPieces":
        """Some of them."""
        return SkinPieces(
            self.corners[kept],
            self.shares[kept],
            self.areas[kept],
            self.vertices[kept],
            self.triangles[kept],
            self.numbers[kept],
        )

    def points(self, body: Tree, asked: Int[np.ndarray, " M"] | slice = slice(None)) -> Float[np.ndarray, "M 3"]:
        """The middles of all or of those asked on a shape, (M, 3), metres."""
        return np.einsum("pc,pcx->px", self.shares[asked], body.vertices[self.corners[asked]])


def skin_pieces(body: Tree, cut: Int[np.ndarray, " M"], hidden: HiddenSkin) -> SkinPieces:
    """Cut the given triangles that have a hidden corner into pieces with sides of at most `SKIN_EDGE`."""
    cut = cut[(hidden.row[body.faces[cut]] >= 0).any(axis=1)]
    faces = body.faces[cut]
    sides = body.vertices[faces] - body.vertices[np.roll(faces, -1, axis=1)]
    longest = np.sqrt((sides**2).sum(axis=2).max(axis=1, initial=0.0))
    areas = 0.5 * np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    orders = np.clip(np.ceil(longest / SKIN_EDGE), 1, MAX_PIECES).astype(np.int64)
    counts = orders**2
    triangles = np.repeat(np.arange(len(faces)), counts)
    within = np.arange(len(triangles)) - np.repeat(np.cumsum(counts) - counts, counts)
    corners, shares = faces[triangles], _all_middles()[orders[triangles] - 1, within]
    usable = np.where(hidden.row[corners] >= 0, shares, -1.0)
    vertices = np.take_along_axis(corners, usable.argmax(axis=1)[:, None], axis=1)[:, 0]
    numbers = (MAX_PIECES * cut[triangles] + orders[triangles] - 1) * MAX_PIECES**2 + within
    return SkinPieces(corners, shares, np.repeat(areas / counts, counts), vertices, triangles, numbers)


@lru_cache(maxsize=1)
def _all_middles() -> Float[np.ndarray, "O P 3"]:
    """The same for every order, from 1 on; rows that an order does not fill are 0."""
    tables = np.zeros((MAX_PIECES, MAX_PIECES**2, 3))
    for order in range(1, MAX_PIECES + 1):
        tables[order - 1, : order**2] = _middles(order)
    return tables


def _middles(order: int) -> Float[np.ndarray, "P 3"]:
    """Barycentric coordinates of the middles of the order² equal pieces of a triangle, (P, 3)."""
    rows, columns = np.meshgrid(np.arange(order), np.arange(order), indexing="ij")
    up = np.stack([columns, rows], axis=-1)[rows + columns < order]
    down = np.stack([columns, rows], axis=-1)[rows + columns < order - 1]
    inner = np.concatenate([up + 1.0 / 3.0, down + 2.0 / 3.0]) / order
    return np.column_stack([1.0 - inner.sum(axis=1), inner])
