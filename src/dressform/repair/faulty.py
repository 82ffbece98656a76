"""Which triangles of a garment have a fault that finer cloth may cure: the body comes through them on some shape."""

from collections.abc import Sequence

import numpy as np
from jaxtyping import Bool
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from dressform.arrays import Faces
from dressform.body.shapes import Shape, distinct, end_shapes, shape_at_base
from dressform.fit.fit import Fit
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.tree import Tree


def crossed_triangles(fit: Fit, *, shapes: Sequence[Shape] | None = None) -> Bool[np.ndarray, " F"]:
    """Triangles that the body newly crosses on one of the shapes, (F,); those that it crosses at the base are left out.

    Args:
        fit: The garment and how it follows.
        shapes: Shapes to look at; by default the ends of every morph's interval.
    """
    body, faces = fit.body, fit.garment.faces
    cloth, skin = Tree(fit.base, faces), Tree(body.vertices, body.faces)
    own = crossing_pairs(cloth, skin)[:, 0]
    crossed = np.zeros(len(faces), dtype=bool)
    for shape in distinct([shape_at_base(body.range), *(end_shapes(body.range) if shapes is None else shapes)]):
        moved = cloth.refit(fit.at(shape.weights))
        crossed[crossing_pairs(moved, skin.refit(body.at(shape.weights)))[:, 0]] = True
    crossed[own] = False
    return crossed


def patches_with(
    faces: Faces, chosen: Bool[np.ndarray, " F"], marked: Bool[np.ndarray, " F"], count: int
) -> Bool[np.ndarray, " F"]:
    """Chosen triangles in a patch, joined at corners, that holds a marked one, (F,)."""
    kept = np.flatnonzero(chosen)
    if not kept.size:
        return chosen
    corners = faces[kept]
    joins = coo_array((np.ones(2 * len(kept)), (np.repeat(corners[:, 0], 2), corners[:, 1:].ravel())), (count, count))
    label = connected_components(joins, directed=False)[1]
    faulty = np.unique(label[corners[marked[kept], 0]])
    out = np.zeros_like(chosen)
    out[kept] = np.isin(label[corners[:, 0]], faulty)
    return out
