"""A garment worn: what the counterfactuals of all its clusters share, each thing found when it is first asked for."""

from collections.abc import Mapping
from functools import cached_property

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import VertexScalars
from dressform.causes.gates import Gates, find_gates
from dressform.causes.ground import Ground
from dressform.causes.measuring import Measuring
from dressform.faults.hidden_skin import thickness
from dressform.fit.fit import Fit
from dressform.lift.feet import Feet, find_feet
from dressform.lift.lift import DEFAULT_EASE, DEFAULT_WAY
from dressform.lift.rows import foot_rows
from dressform.repair.clearance import DEFAULT_MARGIN
from dressform.repair.footprint import growth_factors


class Wearing:
    """A garment on its body, and how it follows.

    Attributes:
        ground: The body.
        fit: The garment's fit.
        way: As for `make_lift`, the way that the fit was made. ease: Likewise. turn: Likewise.
        margin: Clearance that should remain, metres.
        moves: How far each vertex moves when the garment is carried from the shape that it was modelled on to the
            base shape, (G, 3), metres; None where it was modelled on the base shape.
        meant: Clearance of each vertex on the shape that it was modelled on, (G,), metres; None likewise.
        made_on: What is known about that shape, by the names of `EVIDENCE`.
    """

    def __init__(
        self,
        ground: Ground,
        fit: Fit,
        *,
        way: str = DEFAULT_WAY,
        ease: str = DEFAULT_EASE,
        turn: float | None = None,
        margin: float = DEFAULT_MARGIN,
        moves: Float[np.ndarray, "G 3"] | None = None,
        meant: VertexScalars | None = None,
        made_on: Mapping[str, float] | None = None,
    ) -> None:
        self.ground, self.fit = ground, fit
        self.way, self.ease, self.turn, self.margin = way, ease, turn, margin
        self.moves, self.meant, self.made_on = moves, meant, made_on or {}

    @cached_property
    def measuring(self) -> Measuring:
        """Its faults."""
        return Measuring(self.ground, self.fit, meant=self.meant)

    @cached_property
    def feet(self) -> Feet:
        """Where it stands on the base shape."""
        return find_feet(self.ground.tree, self.fit.garment.vertices, self.fit.garment.faces)

    @cached_property
    def foot_vertices(self) -> Int[np.ndarray, " G"]:
        """Body vertex nearest to each foot."""
        return self.ground.body.faces[self.feet.faces, np.argmax(self.feet.barycentric, axis=1)]

    @cached_property
    def factors(self) -> Float[np.ndarray, "G 2"]:
        """By how much skin grows from each foot out to the cloth, in both principal directions."""
        tensors = foot_rows(self.feet, self.ground.tree) @ self.ground.tensors.reshape(-1, 9)
        return growth_factors(self.feet, tensors.reshape(-1, 3, 3))

    @cached_property
    def thickness(self) -> VertexScalars:
        """How thick the body is under each foot, metres, (G,); infinite where a line inward never leaves it."""
        return thickness(self.ground.tree, self.feet.points, -self.feet.normals)

    @cached_property
    def gates(self) -> Gates:
        """Feet that the cloth does not lead to."""
        return find_gates(self.ground, self.fit.garment, self.feet, self.foot_vertices)
