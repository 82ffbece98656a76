"""Cloth that passes through itself: how deep each pair of triangles cuts, and where the body presses it there."""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, Faces
from dressform.faults.skin.cloth_sides import ClothSides
from dressform.faults.skin.overlap import no_room
from dressform.mesh.tree import Tree

SEEN_DEPTH = 0.001
"""Cloth that cuts less deep, metres, can't be told from cloth that touches. Common practice, no source."""
THICKEST_CLOTH = 0.015
"""No cloth is thicker, metres: a padded coat. Common practice, no source."""


def cut_depths(cloth: ClothPoints, faces: Faces, pairs: Int[np.ndarray, "P 2"]) -> Float[np.ndarray, " P"]:
    """How far each pair of crossing triangles would have to part so as not to cross, metres, (P,).

    Of both triangles, how far the corners of the one reach past the plane of the other on the shorter side; the lesser
    of the two. An upper bound of the true distance, exact where one corner pierces a triangle squarely.

    Proof: tests/faults/test_self_crossing.py::test_a_corner_that_pierces_a_sheet_cuts_as_deep_as_it_reaches
    """
    first, second = cloth[faces[pairs[:, 0]]], cloth[faces[pairs[:, 1]]]
    return np.minimum(_past(first, second), _past(second, first))


def _past(corners: Float[np.ndarray, "P 3 3"], other: Float[np.ndarray, "P 3 3"]) -> Float[np.ndarray, " P"]:
    """How far the corners reach past the plane of the other triangle, on the shorter side, metres, (P,)."""
    normal = np.cross(other[:, 1] - other[:, 0], other[:, 2] - other[:, 0])
    lengths = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = np.divide(normal, lengths, out=np.zeros_like(normal), where=lengths > 0)
    heights = np.einsum("pcx,px->pc", corners - other[:, :1], normal)
    return np.maximum(np.minimum(heights.max(axis=1), -heights.min(axis=1)), 0.0)


def pressed(
    body: Tree, sides: ClothSides, faces: Faces, pairs: Int[np.ndarray, "P 2"], normals: Float[np.ndarray, "B 3"]
) -> Bool[np.ndarray, " P"]:
    """Whether the body itself leaves no room for both triangles of each pair, (P,): thigh on thigh, arm on chest.

    That is so where the skin under a corner of the one faces that under a corner of the other and is no farther from it
    than the two are thick together, or where the skin under both lies inside another part of the body. A mesh does
    not tell how thick cloth is: it counts as its clearance at the base, at most `THICKEST_CLOTH`. So cloth that stands
    off two parts which do not meet is blamed, and so are layers over one part.

    Args:
        body: The body on this shape.
        sides: The garment at the base; its nearest triangles are the feet.
        faces: Triangles of the cloth.
        pairs: Triangles that cross.
        normals: Unit normals of the body's vertices on this shape.

    Proof: tests/faults/test_self_crossing.py
    """
    asked, place = np.unique(faces[pairs], return_inverse=True)
    place = place.reshape(-1, 2, 3)
    corners, shares = body.faces[sides.nearest[asked]], sides.barycentric[asked]
    feet = np.einsum("nc,ncx->nx", shares, body.vertices[corners])
    ways = np.einsum("nc,ncx->nx", shares, normals[corners])
    thick = np.clip(sides.signed[asked], 0.0, THICKEST_CLOTH)
    first, second = place[:, 0, :, None], place[:, 1, None, :]
    facing = np.einsum("pabx,pabx->pab", ways[first], ways[second]) < 0.0
    apart = np.linalg.norm(feet[first] - feet[second], axis=3)
    meets = (facing & (apart <= thick[first] + thick[second] + SEEN_DEPTH)).any(axis=(1, 2))
    sunk = _sunk(body, feet, ways)
    under_both = np.any(sunk[place[:, 0]], axis=1) & np.any(sunk[place[:, 1]], axis=1)
    return np.asarray(meets | under_both)


def _sunk(body: Tree, feet: Float[np.ndarray, "N 3"], ways: Float[np.ndarray, "N 3"]) -> Bool[np.ndarray, " N"]:
    """Whether each point of the skin lies inside another part of the body, (N,)."""
    lengths = np.linalg.norm(ways, axis=1)
    usable = np.flatnonzero(lengths > 0)
    found = np.zeros(len(feet), dtype=bool)
    found[usable] = no_room(body, feet[usable], ways[usable] / lengths[usable, None], np.zeros(len(usable)))
    return found
