"""A garment worn: what the counterfactuals of all its clusters share, each thing found when it is first asked for."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array

from dressform.arrays import VertexScalars
from dressform.body.body import Body
from dressform.causes.extremities import WholePiece, find_whole
from dressform.causes.gates import Gates, find_gates
from dressform.causes.ground import Ground
from dressform.causes.measuring import Measuring
from dressform.causes.origin import Origin, find_origin
from dressform.faults.hidden_skin import thickness
from dressform.fit.fit import Fit
from dressform.garment.along import paths_along
from dressform.lift.feet import Feet, find_feet
from dressform.lift.rows import foot_rows
from dressform.repair.footprint import growth_factors


class Wearing:
    """A garment on its body, and how it follows.

    Attributes:
        ground: The body.
        fit: The garment's fit.
        others: Other base bodies on which it may have been modelled.
    """

    def __init__(self, ground: Ground, fit: Fit, *, others: Sequence[Body] = ()) -> None:
        self.ground, self.fit, self.others = ground, fit, tuple(others)
        self._whole: dict[Ground, tuple[WholePiece, ...]] = {}

    @cached_property
    def measuring(self) -> Measuring:
        """Its faults."""
        return Measuring(self.ground, self.fit, meant=None if self.origin is None else self.origin.meant)

    @cached_property
    def origin(self) -> Origin | None:
        """The shape that it was modelled on, where that is not the base body."""
        return find_origin(self.fit, self.clearance, others=self.others)

    @property
    def margin(self) -> float:
        """Clearance that should remain, metres."""
        return self.fit.following.margin

    @cached_property
    def clearance(self) -> VertexScalars:
        """Distance of each vertex from the base body, negative inside, metres, (G,)."""
        return Measuring(self.ground, self.fit).sides.signed

    @cached_property
    def feet(self) -> Feet:
        """Where it stands at the base."""
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
    def paths(self) -> csr_array:
        """Ways along the cloth between its vertices, metres."""
        return paths_along(self.fit.garment.vertices, self.fit.garment.faces)

    @cached_property
    def thickness(self) -> VertexScalars:
        """How thick the body is under each foot, metres, (G,); infinite where a line inward never leaves it."""
        return thickness(self.ground.tree, self.feet.points, -self.feet.normals)

    def whole_on(self, ground: Ground) -> tuple[WholePiece, ...]:
        """What of it has to follow a part of the body as a whole, on the shape that a body was narrowed to."""
        if ground not in self._whole:
            self._whole[ground] = find_whole(
                ground,
                self.feet,
                self.paths,
                on=self.foot_vertices,
                thickness=self.thickness,
                factors=self.factors,
            )
        return self._whole[ground]

    @cached_property
    def gates(self) -> Gates:
        """Feet that the cloth does not lead to."""
        return find_gates(self.ground, self.fit.garment, self.feet, self.foot_vertices, self.paths)
