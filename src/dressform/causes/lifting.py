"""Lifting cloth whose feet are given, in the way of a fit."""

import numpy as np
from jaxtyping import Bool
from scipy.sparse import csr_array

from dressform.arrays import VertexScalars
from dressform.body.body import Body
from dressform.garment.garment import Garment
from dressform.lift.feet import Feet
from dressform.lift.lift import DEFAULT_TURN, Lift
from dressform.lift.rows import foot_rows, nearest_rows, nearest_three_rows
from dressform.lift.smooth import make_smoother
from dressform.mesh.tree import Tree

SMOOTH = "smooth"


def lift_on_feet(
    body: Body,
    garment: Garment,
    feet: Feet,
    *,
    tree: Tree,
    skin_edge_length: VertexScalars,
    method: str,
    ease: str,
    rotation_share: float | None,
    held: Bool[np.ndarray, " G"] | None = None,
) -> Lift:
    """The lift that `make_lift` makes, but on the feet given.

    Args:
        body: The body.
        garment: The cloth.
        feet: Where it stands.
        tree: The body's triangles at the base.
        grain: Edge length around each vertex of the body, metres.
        way: As for `make_lift`. ease: Likewise. turn: Likewise.
        held: Vertices that are to read the body at their foot although the way reads it at vertices near by.
    """
    rows = _rows(method, body, garment, feet, tree, held)
    smoother = None
    if method == SMOOTH:
        smoother = make_smoother(garment.vertices, garment.faces, feet.clearance, rows @ skin_edge_length)
    own_rotation_share = DEFAULT_TURN if method == SMOOTH else 0.0
    return Lift(
        body,
        garment,
        method,
        ease,
        own_rotation_share if rotation_share is None else rotation_share,
        feet,
        rows,
        smoother,
    )


def _rows(
    method: str, body: Body, garment: Garment, feet: Feet, tree: Tree, held: Bool[np.ndarray, " G"] | None
) -> csr_array:
    """What is read from the body, by way."""
    at_feet = foot_rows(feet, tree)
    if method not in ("nearest", "nearest-three"):
        return at_feet
    read = (nearest_rows if method == "nearest" else nearest_three_rows)(body.vertices, garment.vertices)
    if held is None:
        return read
    keep = (~held).astype(np.float64)[:, None]
    return csr_array(read.multiply(keep) + at_feet.multiply(1.0 - keep))
