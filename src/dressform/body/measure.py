"""Tape measures of a body at any weights, by the definitions of ISO 8559-1:2017 and EN 13402-1.

A girth is the perimeter of the convex hull of the plane section of one part of the body: a taut tape bridges hollows.
Levels that bones or folds define (waist, under-bust, neck, wrist, crotch, armpit) are found at the base and
carried by the skin; levels that the surface defines (bust points, greatest protrusion of the seat, largest girth of a
limb) are found again on every shape. `docs/measures.md` has each definition and how it is taken.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from dressform.arrays import Weights
from dressform.body import measure_take as take
from dressform.body.body import Body
from dressform.body.measure_landmarks import find_landmarks
from dressform.body.measure_tape import Tape, TapeReading
from dressform.body.shapes import label_of
from dressform.errors import ArgumentError, MeshError

ISO = "ISO 8559-1:2017"
EN = "EN 13402-1"

TAKEN: tuple[tuple[str, str, Callable[[Tape], TapeReading]], ...] = (
    ("stature", f"{ISO} 5.1.1", take.stature),
    ("neck", f"{ISO} 5.3.2", take.neck),
    ("chest", EN, take.chest),
    ("full bust", EN, take.full_bust),
    ("bust", f"{ISO} 5.3.4", take.bust),
    ("under-bust", f"{ISO} 5.3.8", take.under_bust),
    ("waist", f"{ISO} 5.3.10", take.waist),
    ("hip", f"{ISO} 5.3.13", take.hip),
    ("thigh", f"{ISO} 5.3.20", take.thigh),
    ("mid-thigh", f"{ISO} 5.3.21", take.mid_thigh),
    ("calf", f"{ISO} 5.3.24", take.calf),
    ("upper arm", f"{ISO} 5.3.16", take.upper_arm),
    ("wrist", f"{ISO} 5.3.19", take.wrist),
    ("inside leg", f"{ISO} 5.1.15", take.inside_leg),
)
"""Every measure: its name, the standard and number that define it, and how it is taken."""

MEASURE_NAMES = tuple(name for name, _, _ in TAKEN)


@dataclass(frozen=True)
class Measure:
    """One tape measure.

    Attributes:
        name: One of `MEASURE_NAMES`.
        iso: The standard and the number of the definition in it.
        value: Metres, or None where it cannot be taken.
        height: Height of the tape above the soles, metres; None for a length, and where nothing was taken.
        note: Which side was measured, a caveat, or why there is no value.
    """

    name: str
    iso: str
    value: float | None
    height: float | None
    note: str


@dataclass(frozen=True)
class Measures:
    """All tape measures of one shape.

    Attributes:
        body: Name of the base body.
        label: Label of the shape, for instance `belly=1`.
        weights: The shape, (K,).
        rows: One per measure, in the order of `MEASURE_NAMES`.
        notes: Weights outside the declared range, one sentence each.
    """

    body: str
    label: str
    weights: Weights
    rows: tuple[Measure, ...]
    notes: tuple[str, ...] = ()

    def named(self, name: str) -> Measure:
        """The row of one measure.

        Raises:
            ArgumentError: no measure has this name; the valid names are listed.
        """
        for row in self.rows:
            if row.name == name:
                return row
        raise ArgumentError.of("Measures.named", "name", f"one of {', '.join(MEASURE_NAMES)}", repr(name), "Choose one")


class Measurer:
    """Takes the measures of one body. Everything that depends only on the base body is found once, here."""

    def __init__(self, body: Body) -> None:
        self.body = body
        self.landmarks = find_landmarks(body)

    def taken(self, names: Sequence[str], weights: Weights) -> tuple[Measure, ...]:
        """Only the named measures at `weights`, in the order of `names`.

        Raises:
            ArgumentError: no measure has that name (the valid names are listed), or a weight is absurd.
        """
        self.body.range.refuse_absurd("Measurer.taken", weights)
        tape = Tape(self.landmarks, self.body.at(weights))
        known = {name: (name, iso, reading) for name, iso, reading in TAKEN}
        for name in names:
            if name not in known:
                rule = f"among {', '.join(MEASURE_NAMES)}"
                raise ArgumentError.of("Measurer.taken", "names", rule, repr(name), "Choose among these")
        return tuple(_row(*known[name], tape) for name in names)

    def measure(self, weights: Weights) -> Measures:
        """All measures at `weights`; a measure that cannot be taken is None with the reason, never a guess.

        Raises:
            ArgumentError: a weight lies absurdly far outside its range.

        Proof: tests/body/test_measure.py::test_every_girth_of_the_phantom_is_its_closed_form
        """
        declared = self.body.range
        declared.refuse_absurd("Measurer.measure", weights)
        tape = Tape(self.landmarks, self.body.at(weights))
        rows = tuple(_row(name, iso, reading, tape) for name, iso, reading in TAKEN)
        return Measures(self.body.name, label_of(declared, weights), weights, rows, declared.outside(weights))


def _row(name: str, iso: str, reading: Callable[[Tape], TapeReading], tape: Tape) -> Measure:
    """One measure, or None with the reason."""
    try:
        taken = reading(tape)
    except MeshError as error:
        return Measure(name, iso, None, None, str(error))
    return Measure(name, iso, taken.value, taken.height, taken.note)
