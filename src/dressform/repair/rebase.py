"""Repair of a garment that was modelled on another shape: carry it to the base body by the lift."""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float

from dressform.arrays import ClothPoints, VertexScalars, Weights
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import FULL_STRENGTH, Garment
from dressform.lift.lift import make_lift
from dressform.mesh.geometry import vertex_areas

CARRY = "carry"  # name of the only morph of the bodies that a garment is carried with


@dataclass(frozen=True)
class Rebased:
    """A garment carried to the base body, with the moves and the error when it is carried back.

    Attributes:
        garment: The garment at the base.
        moves: What was added to each vertex, (G, 3), metres.
        largest_move: Longest of the moves, metres.
        rms_move: Their root-mean-square by area, metres.
        back_largest: Largest distance between the garment as it was and the new one carried back to its shape, metres.
        back_rms: Root-mean-square by area of that distance, metres.
        clearance_there: Clearance of each vertex on the shape that it was modelled on, (G,), metres.
        clearance_here: Clearance of each vertex at the base after the repair, (G,), metres.
    """

    garment: Garment
    moves: Float[np.ndarray, "G 3"]
    largest_move: float
    rms_move: float
    back_largest: float
    back_rms: float
    clearance_there: VertexScalars
    clearance_here: VertexScalars

    @property
    def clearance_change(self) -> VertexScalars:
        """Clearance change of each vertex, (G,), metres: positive where it grew, 0 where the garment kept its ease."""
        return self.clearance_here - self.clearance_there


def rebase(body: Body, garment: Garment, weights: Weights, following: Following = DEFAULT_FOLLOWING) -> Rebased:
    """Carry a garment modelled on the shape at `weights` to the base body.

    The lift is made on that shape, where the garment's feet are right. It carries the displacement from that shape to
    the base. Every vertex is carried fully, whatever its strength. To check the result, the garment is carried back by
    the lift of the new garment at the base, which is the lift used from then on.

    Args:
        body: The body; its base body is where the garment goes.
        garment: Cloth modelled on `body.at(weights)`.
        weights: That shape, (K,).
        following: Method, ease policy and rotation share with which it is carried.

    Raises:
        ArgumentError: there is not one finite weight per morph.

    Proof: tests/repair/test_rebase.py::test_a_tube_modelled_on_the_grown_body_comes_back_with_its_clearance
    """
    if len(weights) != len(body.morph_names) or not np.isfinite(weights).all():
        raise ArgumentError.of(
            "rebase",
            "weights",
            f"{len(body.morph_names)} finite weights",
            np.array2string(weights, threshold=8),
            "Give one weight per morph of the body",
        )
    shape = body.at(weights)
    whole = replace(garment, strength=np.full(len(garment.vertices), FULL_STRENGTH))
    there = make_lift(_between(body, shape, body.vertices), whole, following)
    moves = there.displacements(there.body.deltas)[0]
    carried = replace(whole, vertices=garment.vertices + moves)
    here = make_lift(_between(body, body.vertices, shape), carried, following)
    returned = carried.vertices + here.displacements(here.body.deltas)[0]
    areas = vertex_areas(garment.vertices, garment.faces)
    return Rebased(
        replace(garment, vertices=carried.vertices),
        moves,
        *_lengths(moves, areas),
        *_lengths(returned - garment.vertices, areas),
        there.feet.clearance,
        here.feet.clearance,
    )


def _between(body: Body, start: Float[np.ndarray, "B 3"], end: Float[np.ndarray, "B 3"]) -> Body:
    """A body on one shape whose only morph leads to another."""
    return Body(body.name, start, body.faces, (CARRY,), (end - start)[None], Range.unit((CARRY,)))


def _lengths(moves: ClothPoints, areas: VertexScalars) -> tuple[float, float]:
    """Longest, and root-mean-square by area."""
    squares = np.einsum("gx,gx->g", moves, moves)
    total = max(float(areas.sum()), np.finfo(float).tiny)
    return float(np.sqrt(squares.max(initial=0.0))), float(np.sqrt(squares @ areas / total))
