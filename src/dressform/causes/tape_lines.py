"""Distance of a place from the tape lines: bust, under-bust, waist, hip, neck."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool

from dressform.arrays import BodyPoints
from dressform.body.measure_marks import Mark, Standing
from dressform.body.measure_trunk import Trunk
from dressform.faults.ease import trunk_marks
from dressform.faults.results import Place
from dressform.units import CM_PER_M

FARTHEST = 0.25  # metres; a line farther away than this does not help to find a place
ON_THE_LINE = 0.005  # metres; nearer than this a place lies on the line


@dataclass(frozen=True)
class TapeLines:
    """The lines of one body, which follow its shapes.

    Attributes:
        marks: A point at the height of each line, by its name; none where no trunk is found.
        arms: Body vertices on an arm, where heights on the trunk do not apply, (B,).
    """

    marks: Mapping[str, Mark]
    arms: Bool[np.ndarray, " B"]

    def near(self, place: Place, skin: BodyPoints) -> str:
        """Distance from the nearest line, as in `4.2 cm below the waist line`; empty where none is near.

        Args:
            place: The place.
            skin: The body on the shape where the place was seen, (B, 3), metres.
        """
        foot = int(np.argmin(np.square(skin - np.array(place.position_m)).sum(axis=1)))
        if not self.marks or self.arms[foot]:
            return ""
        above = {name: place.position_m[1] - float(mark.at(skin)[1]) for name, mark in self.marks.items()}
        name = min(above, key=lambda one: abs(above[one]))
        if abs(above[name]) > FARTHEST:
            return ""
        if abs(above[name]) < ON_THE_LINE:
            return f"on the {name} line"
        return f"{abs(above[name]) * CM_PER_M:.1f} cm {'above' if above[name] > 0 else 'below'} the {name} line"


def find_tape_lines(standing: Standing, trunk: Trunk) -> TapeLines:
    """The lines of a body at its base, by its trunk."""
    marks = trunk_marks(standing.vertices, trunk)
    if "neck back" in trunk.marks:
        marks["neck"] = trunk.marks["neck back"]
    arms = np.zeros(len(standing.vertices), dtype=bool)
    arms[standing.faces[standing.arm_faces]] = True
    return TapeLines(marks, arms)
