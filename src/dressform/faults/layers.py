"""Layers that swap order: outer cloth that is now under the layer it covered."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import ClothPoints, Faces
from dressform.errors import ArgumentError
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.nearest import Closest, closest
from dressform.mesh.topology import components
from dressform.mesh.tree import Tree

AnyPoints = Float[np.ndarray, "_ 3"]
AnyFaces = Int[np.ndarray, "_ 3"]

LAYER_REACH = 0.03
"""Cloth farther over another layer than this is not watched, metres."""
APART = 2e-4
"""Nearer than this, layers count as joined (a pocket's seam), metres; an order within it cannot be told."""
INSIDE_OUT = 0.5
"""A piece of cloth whose normals look at the skin by more than this, in the mean, is modelled inside out."""
ACROSS = 0.7
"""Least cosine between the way to the other layer and that layer's normal: beside it is not over it."""


@dataclass(frozen=True)
class Order:
    """Vertices of an outer layer over one inner layer, at the base.

    Attributes:
        inner: The inner layer, with all vertices of its garment.
        garment: Whose vertices the inner layer has: 0 the garment itself, 1, 2, … those under it.
        outer: Vertices of the garment that lie over the inner layer, (N,).
        under: The inner layer's triangle under each, (N,).
        sides: On which side of that triangle each lies, 1 or -1, (N,).
        shown: Share of the cloth around each that is seen by who looks straight at the inner layer, 0 to 1, (N,).
    """

    inner: Tree
    garment: int
    outer: Int[np.ndarray, " N"]
    under: Int[np.ndarray, " N"]
    sides: Float[np.ndarray, " N"]
    shown: Float[np.ndarray, " N"]


@dataclass(frozen=True)
class Swaps:
    """Outer cloth that is now under one layer that it covered.

    Attributes:
        outer: Vertices of the garment, (N,).
        shown: As in `Order`, (N,).
        covering: Vertices of the garment that are seen in their place, (C,); none where the layer is another garment.
    """

    outer: Int[np.ndarray, " N"]
    shown: Float[np.ndarray, " N"]
    covering: Int[np.ndarray, " C"]


def find_orders(
    cloth: ClothPoints,
    faces: Faces,
    face_parts: Int[np.ndarray, " F"],
    outward: Float[np.ndarray, "G 3"],
    *,
    under: Sequence[tuple[AnyPoints, AnyFaces]] = (),
) -> tuple[Order, ...]:
    """Which vertices lie over which layer at the base.

    A layer is a part of the garment, or a whole garment worn under it. A vertex lies over a layer when the line from
    the layer's nearest point to it is short, steep to the layer and points outward from the body.

    Args:
        cloth: The garment as its maker modelled it, metres.
        faces: Its triangles.
        face_parts: Part of each triangle.
        outward: Direction away from the body at each vertex.
        under: Vertices and triangles of the garments worn under this one.
    """
    layers = [(0, Tree(cloth, faces[face_parts == part])) for part in np.unique(face_parts)]
    if len(layers) == 1:
        layers = []
    layers += [(index + 1, Tree(*garment)) for index, garment in enumerate(under)]
    facing = _facing(cloth, faces, outward) if layers else np.zeros_like(cloth)
    found = [_over(cloth, outward, facing, garment, inner) for garment, inner in layers]
    return tuple(order for order in found if order.outer.size)


def swapped(order: Order, cloth: ClothPoints, under: Sequence[AnyPoints] = ()) -> Swaps:
    """Outer cloth that has come under the layer they lay over at the base.

    Args:
        order: From `find_orders`.
        cloth: The garment on a shape.
        under: The garments worn under it on that shape, as many as `find_orders` was given.

    Raises:
        ArgumentError: the layer belongs to a garment that is not given.

    Proof: tests/faults/test_layers.py::test_a_layer_pushed_under_another_is_swapped
    """
    if order.garment > len(under):
        raise ArgumentError.of("swapped", "under", f"{order.garment} garments or more", len(under), "Give them all")
    inner = order.inner.refit(cloth if order.garment == 0 else under[order.garment - 1])
    points = cloth[order.outer]
    found = closest(inner, points, start_faces=order.under, within=LAYER_REACH)
    height, cosine = _heights(inner, points, found)
    under_it = (height * order.sides < -APART) & (cosine > ACROSS)
    seen = under_it & (order.shown > 0) & (order.garment == 0)
    covering = inner.faces[found.faces[seen]]
    return Swaps(order.outer[under_it], order.shown[under_it], np.unique(covering))


def _facing(cloth: ClothPoints, faces: Faces, outward: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, "G 3"]:
    """Normal of the cloth at each vertex; of a sheet that faces the body as a whole the other way round."""
    normals = vertex_normals(cloth, faces)
    pieces = components(faces, len(cloth))
    away = np.bincount(pieces, weights=np.einsum("vi,vi->v", normals, outward)) / np.bincount(pieces)
    return np.where(away < -INSIDE_OUT, -1.0, 1.0)[pieces][:, None] * normals


def _over(
    cloth: ClothPoints,
    outward: Float[np.ndarray, "G 3"],
    facing: Float[np.ndarray, "G 3"],
    garment: int,
    inner: Tree,
) -> Order:
    """Vertices that lie over one layer, without the layer's own vertices."""
    candidates = np.arange(len(cloth))
    if garment == 0:
        candidates = np.setdiff1d(candidates, inner.faces)
    found = closest(inner, cloth[candidates], within=LAYER_REACH)
    height, cosine = _heights(inner, cloth[candidates], found)
    lines = np.nan_to_num(cloth[candidates] - found.points)
    over = (np.abs(height) > APART) & (cosine > ACROSS) & (np.einsum("ni,ni->n", lines, outward[candidates]) > 0)
    lines = lines[over] / np.linalg.norm(lines[over], axis=1, keepdims=True)
    shown = np.maximum(np.einsum("ni,ni->n", lines, facing[candidates[over]]), 0.0)
    return Order(inner, garment, candidates[over], found.faces[over], np.sign(height[over]), shown)


def _heights(
    inner: Tree, points: Float[np.ndarray, "N 3"], found: Closest
) -> tuple[Float[np.ndarray, " N"], Float[np.ndarray, " N"]]:
    """Height of each point over the plane of its nearest triangle, and the sine of its angle to it; 0 where none."""
    directions = np.nan_to_num(points - found.points)
    normals = np.where((found.faces >= 0)[:, None], inner.slots[inner.slot_of[found.faces], 9:], 0.0)
    height = np.einsum("ni,ni->n", directions, normals)
    return height, np.abs(height) / np.maximum(np.linalg.norm(directions, axis=1), 1e-12)
