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
    grain: VertexScalars,
    way: str,
    ease: str,
    turn: float | None,
    held: Bool[np.ndarray, " G"] | None = None,
) -> Lift:
    """The lift that `make_lift` makes, but on the feet given.

    Args:
        body: The body.
        garment: The cloth.
        feet: Where it stands.
        tree: The body's triangles on the base shape.
        grain: Edge length around each vertex of the body, metres.
        way: As for `make_lift`. ease: Likewise. turn: Likewise.
        held: Vertices that are to read the body at their foot although the way reads it at vertices near by.
    """
    rows = _rows(way, body, garment, feet, tree, held)
    smoother = None
    if way == SMOOTH:
        smoother = make_smoother(garment.vertices, garment.faces, feet.clearance, rows @ grain)
    own_turn = DEFAULT_TURN if way == SMOOTH else 0.0
    return Lift(body, garment, way, ease, own_turn if turn is None else turn, feet, rows, smoother)


def _rows(
    way: str, body: Body, garment: Garment, feet: Feet, tree: Tree, held: Bool[np.ndarray, " G"] | None
) -> csr_array:
    """What is read from the body, by way."""
    at_feet = foot_rows(feet, tree)
    if way not in ("nearest", "nearest-three"):
        return at_feet
    read = (nearest_rows if way == "nearest" else nearest_three_rows)(body.vertices, garment.vertices)
    if held is None:
        return read
    keep = (~held).astype(np.float64)[:, None]
    return csr_array(read.multiply(keep) + at_feet.multiply(1.0 - keep))
