"""What one way of following leaves, shape by shape: whether anything is graver or eased, and how bad it is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dressform.faults.graded.hard import HARD
from dressform.faults.registry import FAULT_OF, FAULTS
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import Bands
from dressform.jobs.compare.measures import MEASURES

STIFF = "stiff"
"""Key of the bend of parts that are likely stiff, graded as that of hard parts; a check does not grade it."""
WEIGHED = (*FAULTS, STIFF)
COUNTS_FROM = {one.key: one.counts_from / FAULT_OF[one.key].factor for one in MEASURES if one.key in FAULT_OF}
"""Changes up to this count for nothing, as in a comparison, in the unit of each band."""
EASED = 0.1
"""A fault that stays in its grade is eased where it falls by more than this share. Common practice, no source."""
UNGRADED = 0.1
"""Weight of what is below the first band, against a grade: it decides where the graded faults are alike."""


@dataclass(frozen=True)
class Left:
    """What one way of following leaves on one shape.

    Attributes:
        values: Every fault, in the unit of its band.
        grades: Its severity, 0 (clean) to 3 (grave).
    """

    values: Mapping[str, float]
    grades: Mapping[str, int]

    @classmethod
    def of(cls, values: Mapping[str, float], bands: Bands) -> "Left":
        """Graded by bands."""
        grades = {key: SEVERITIES.index(bands.grade(graded_as(key), value)) for key, value in values.items()}
        return cls(dict(values), grades)


@dataclass(frozen=True)
class Change:
    """How one fault differs between two ways of following.

    Attributes:
        fault: Which.
        shape: Number of the shape, where it is told of one.
        before: Its value, in the unit of its band.
        after: The same after the change.
        grade_before: Its severity, 0 to 3.
        grade_after: The same after the change.
    """

    fault: str
    shape: int
    before: float
    after: float
    grade_before: int
    grade_after: int


def graded_as(key: str) -> str:
    """The fault by whose bands a value is graded."""
    return HARD.key if key == STIFF else key


def counts_from(key: str) -> float:
    """Changes of a fault up to this count for nothing, in the unit of its band."""
    return COUNTS_FROM[graded_as(key)]


def graver(before: Left, after: Left, shape: int = 0) -> list[Change]:
    """Faults that are graver on one shape: the grade rises, or what is graded already grows by more than counts.

    Proof: tests/jobs/suggest/test_weigh.py::test_a_grade_that_rises_on_one_shape_is_graver_however_little_it_grows
    """
    found = []
    for key in WEIGHED:
        old, new = before.grades[key], after.grades[key]
        grown = after.values[key] - before.values[key]
        if new > old or (new == old > 0 and grown > counts_from(key)):
            found.append(Change(key, shape, before.values[key], after.values[key], old, new))
    return sorted(found, key=lambda one: (-one.grade_after, one.grade_before))


def worst(left: Sequence[Left]) -> dict[str, tuple[float, int, int]]:
    """Of each fault the worst value over some shapes, its grade, and the number of the first shape that has it."""
    found = {}
    for key in WEIGHED:
        shape = int(np.argmax([one.values[key] for one in left]))
        found[key] = left[shape].values[key], left[shape].grades[key], shape
    return found


def eased(before: Sequence[Left], after: Sequence[Left]) -> list[Change]:
    """Faults that are less grave at their worst, the most eased first: the grade falls, or a graded one clearly."""
    old, new, found = worst(before), worst(after), []
    for key in WEIGHED:
        (was, was_grade, shape), (now, now_grade, _) = old[key], new[key]
        clearly = was - now > max(counts_from(key), EASED * was)
        falls = now_grade < was_grade and was - now > counts_from(key)
        if falls or (was_grade > 0 and clearly):
            found.append(Change(key, shape, was, now, was_grade, now_grade))
    return sorted(found, key=lambda one: (one.grade_after - one.grade_before, -one.grade_before))


def badness(left: Sequence[Left], bands: Bands) -> float:
    """How bad it is over some shapes: the grade of each fault at its worst, with the way to the next, added up."""
    total = 0.0
    for key, (value, _, _) in worst(left).items():
        grade = _level(value, bands[graded_as(key)])
        total += grade if grade >= 1.0 else UNGRADED * grade
    return total


def _level(value: float, band: Sequence[float]) -> float:
    """0 at nothing, 1, 2 and 3 where a fault becomes slight, moderate and grave, and slowly more beyond."""
    bounds = (0.0, *band)
    if value >= bounds[-1]:
        return len(band) + float(np.log2(value / bounds[-1]))
    return float(np.interp(value, bounds, range(len(bounds))))
