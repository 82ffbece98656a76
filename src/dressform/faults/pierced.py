"""Layers that pierce each other: cloth of a garment worn under another that has come through it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Faces, Points
from dressform.faults.skin.front_areas import front_areas
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.nearest import closest
from dressform.mesh.rays import blocked, first_hit
from dressform.mesh.tree import Tree

REACH = 0.03
"""Cloth has come through a layer that lies within this distance behind it, metres."""
ON_CLOTH = 1e-4
"""Layers nearer to each other than this lie on each other, metres; an order within it cannot be told."""


@dataclass(frozen=True)
class LayerBelow:
    """A garment worn under another, as modelled.

    Attributes:
        tree: Its triangles.
        nearest: Body triangle under each of its vertices, (G,).
        barycentric: Where in that triangle, (G, 3).
    """

    tree: Tree
    nearest: Int[np.ndarray, " G"]
    barycentric: Float[np.ndarray, "G 3"]


def layer_below(vertices: Points, faces: Faces, body: Tree) -> LayerBelow:
    """A garment worn under another, with its feet on the base body."""
    found = closest(body, vertices)
    return LayerBelow(Tree(vertices, faces), found.faces, found.barycentric)


def pierced_areas(
    outer: Tree, below: LayerBelow, moved: Float[np.ndarray, "I 3"], body: Tree
) -> Float[np.ndarray, " G"]:
    """Cloth of the layer below that has come through a garment, around each of the garment's vertices, m², (G,).

    The layer below has come through where a line from it towards the skin meets the garment within `REACH` and before
    the skin, and no cloth of the garment lies over it within that distance. So what hangs out under a hem is not
    counted. Nothing is excused, at the base either: a wearer sees it.

    Args:
        outer: The garment on a shape.
        below: The layer below.
        moved: Its vertices on that shape, metres.
        body: The body on that shape.

    Source: our own. Proof: tests/faults/test_pierced.py
    """
    inner = below.tree.refit(moved)
    skin = vertex_normals(body.vertices, body.faces)[body.faces[below.nearest]]
    outward = np.einsum("gc,gcx->gx", below.barycentric, skin)
    outward /= np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), np.finfo(float).tiny)
    low, high = outer.vertices.min(axis=0) - REACH, outer.vertices.max(axis=0) + REACH
    near = np.all((inner.vertices > low) & (inner.vertices < high), axis=1)
    crossed = np.zeros(len(inner.faces), dtype=bool)
    crossed[crossing_pairs(inner, outer)[:, 0]] = True

    def told(
        points: Float[np.ndarray, "N 3"], along: Float[np.ndarray, "N 3"], _: Int[np.ndarray, " N"]
    ) -> Bool[np.ndarray, " N"]:
        return _through(outer, body, points, along)

    seen = front_areas(inner, outward, near, crossed, told)
    found = np.zeros(len(outer.vertices))
    if seen.sizes.size:
        spots = closest(outer, seen.points)
        np.add.at(found, outer.faces[spots.faces, np.argmax(spots.barycentric, axis=1)], seen.sizes)
    return found


def _through(
    outer: Tree, body: Tree, points: Float[np.ndarray, "N 3"], along: Float[np.ndarray, "N 3"]
) -> Bool[np.ndarray, " N"]:
    """Whether cloth at these points lies outside a garment that should cover it, (N,)."""
    found = np.zeros(len(points), dtype=bool)
    rows = np.flatnonzero(np.abs(along).sum(axis=1) > 0)
    hits = first_hit(outer, points[rows], -along[rows], near=ON_CLOTH, far=REACH)
    rows, distances = rows[hits.blocked], hits.distances[hits.blocked]
    skin = first_hit(body, points[rows], -along[rows], far=REACH)
    rows = rows[distances < skin.distances]
    found[rows] = ~blocked(outer, points[rows], along[rows], near=ON_CLOTH, far=REACH).blocked
    return found
