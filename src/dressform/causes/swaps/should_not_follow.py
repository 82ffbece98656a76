"""Should not follow: the swap moves hard parts as one stiff piece and leaves cloth far from the body in place."""

from dataclasses import replace

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array

from dressform.causes.patch import Patch
from dressform.fit.fit import Fit
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from dressform.repair.whole.hard_parts import SEAT_REACH, placed

WORDS = "stiff parts move as one piece with the cloth under them, cloth far from the body stays where it is"
FAR = 0.25
"""Cloth farther from the body than this is not led by it, metres,"""
FADE = 0.10
"""and cloth nearer by less than this in part."""


def matters(patch: Patch) -> bool:
    """Whether there are stiff parts at the cluster, or cloth far from the body."""
    return bool(patch.weights.any() and ((hard(patch) & patch.near).any() or (far(patch) * patch.near).any()))


def hard(patch: Patch) -> Bool[np.ndarray, " N"]:
    """Vertices of the patch that belong to stiff parts."""
    return patch.pieces.hard_vertices()


def far(patch: Patch) -> Float[np.ndarray, " N"]:
    """1 where the cloth is too far from the body to follow, 0 where it is near."""
    return np.clip((patch.clearance - (FAR - FADE)) / FADE, 0.0, 1.0)


def left_alone(patch: Patch, fit: Fit, rows: csr_array) -> Fit:
    """The fit with stiff parts kept rigid and far cloth kept still.

    On this one shape, a stiff part is rotated and shifted rigidly. The repair must suit all shapes at once, so it comes
    only as near to this as a straight path can.
    """
    deltas = fit.deltas * (1.0 - rows @ far(patch))[:, None]
    of_piece = patch.pieces.of_vertices[parents(rows)]
    stiff = patch.pieces.hard[of_piece]
    if stiff.any():
        corners, shares, found = _seats(fit.garment, stiff)
        areas = np.maximum(vertex_areas(fit.garment.vertices, fit.garment.faces), np.finfo(float).tiny)
        for piece in np.unique(of_piece[stiff]):
            whole = np.flatnonzero(of_piece == piece)
            sitting = whole[found[whole]] if found[whole].any() else whole
            under = np.einsum("njx,nj->nx", fit.base[corners[sitting]], shares[sitting])
            led = np.einsum("njx,nj->nx", deltas[0, corners[sitting]], shares[sitting])
            stiff_at = placed(under, under + led, areas[sitting], fit.base[whole])
            deltas[0, whole] = stiff_at - fit.base[whole]
    return replace(fit, deltas=deltas)


def parents(rows: csr_array) -> Int[np.ndarray, " W"]:
    """For each row the column with the largest entry: the nearest old vertex of each new one."""
    heads = np.asarray(rows.argmax(axis=1)).ravel()
    return heads.astype(np.int64)


def _seats(
    garment: Garment, stiff: Bool[np.ndarray, " W"]
) -> tuple[Int[np.ndarray, "W 3"], Float[np.ndarray, "W 3"], Bool[np.ndarray, " W"]]:
    """The cloth under every stiff vertex: corners, shares, and whether there is any; the vertex itself if not."""
    count = len(stiff)
    corners, shares = np.repeat(np.arange(count)[:, None], 3, axis=1), np.full((count, 3), 1.0 / 3.0)
    found = np.zeros(count, dtype=bool)
    soft = ~stiff[garment.faces].any(axis=1)
    if soft.any():
        asked = np.flatnonzero(stiff)
        tree = Tree(garment.vertices, garment.faces[soft])
        nearest = closest(tree, garment.vertices[asked], within=SEAT_REACH)
        met = nearest.faces >= 0
        corners[asked[met]] = tree.faces[nearest.faces[met]]
        shares[asked[met]], found[asked[met]] = nearest.barycentric[met], True
    return corners, shares, found
