"""Measuring: tape measures of a body at any weights, and the weights that a tape asks for."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float
from rich.console import Console

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.measure import MEASURE_NAMES, Measurer, Measures
from dressform.body.range import WeightsByName
from dressform.body.stances.slid_points import split_shape
from dressform.body.tape_fit import TapeFit, fit_tape
from dressform.calls import called
from dressform.errors import ArgumentError
from dressform.fit.posed import slid_body
from dressform.jobs.arguments import left_at_zero
from dressform.jobs.progress import Progress, Step, stage
from dressform.report.tables.measures import measures_table, tape_table
from dressform.report.tables.text import printed_text
from dressform.units import CM_PER_M


@dataclass(frozen=True, eq=False, repr=False)
class MeasureResult:
    """Tape measures of a shape; `print` shows the table that a person reads.

    Attributes:
        body: The body.
        measures: Each measure, metres, or why it cannot be taken.
        found: The shape that a tape asked for, and what it misses; None where the shape was given.
    """

    body: Body
    measures: Measures
    found: TapeFit | None = None

    @property
    def weights(self) -> Float[np.ndarray, " K"]:
        """The shape, one weight per morph."""
        return self.measures.weights

    @property
    def cm(self) -> dict[str, float | None]:
        """Every measure by name, cm; None where it cannot be taken."""
        return {row.name: None if row.value is None else row.value * CM_PER_M for row in self.measures.rows}

    @property
    def line(self) -> str:
        """The outcome in one line."""
        taken = [row for row in self.measures.rows if row.value is not None]
        words = f"{self.body.name} at {self.measures.label}: {len(taken)} of {len(self.measures.rows)} measures taken"
        if self.found is None:
            return words
        met = sum(row.met for row in self.found.rows)
        return f"{words}, {met} of {len(self.found.rows)} met that were asked for"

    def print(self, console: Console) -> None:
        """What a person reads: the outcome, notes, what was asked for, then every measure."""
        console.print(f"{self.line}.", style="bold")
        for note in (*self.body.notes, *self.measures.notes):
            console.print(f"note: {note}")
        if self.found is not None:
            console.print(tape_table(self.body, self.found))
            console.print()
        console.print(measures_table(self.measures))

    def __str__(self) -> str:
        return printed_text(self.print)

    def __repr__(self) -> str:
        return f"<MeasureResult of {self.body.name!r} at {self.measures.label}>"


@called("measure")
def measure(
    body: Body,
    weights: Weights | WeightsByName | None = None,
    *,
    find: Mapping[str, float | int] | None = None,
    measurer: Measurer | None = None,
    progress: Progress | None = None,
) -> MeasureResult:
    """Take the tape measures of a body, by ISO 8559-1, or find the reachable shape that a tape asks for.

    Args:
        body: The body.
        weights: The shape, by the names of morphs and of sliders that move joints, or in the order of the morphs; the
            base body if omitted.
        find: What the tape should read, cm by name of the measure; the nearest reachable shape is measured. Sliders
            that move joints stay at 0.
        measurer: Takes the measures of this body, if it is at hand.
        progress: Told how far the search has come.

    Raises:
        ArgumentError: both are given, a name is not known (the valid ones are listed), a weight is absurd, or a target
            is not positive.

    Proof: tests/jobs/test_more_jobs.py
    """
    if weights is not None and find is not None:
        raise ArgumentError.of("measure", "find", "given without weights", "both", "Leave one of them out")
    vector, joints = split_shape("measure", body.range, body.joint_sliders, {} if weights is None else weights)
    if joints:
        taken = Measurer(slid_body(body, joints)).measure(vector)
        words = (taken.label if vector.any() else "", *(f"{name}={value:.4g}" for name, value in joints.items()))
        return MeasureResult(body, replace(taken, label=" ".join(word for word in words if word)))
    measurer = measurer or Measurer(body)
    if find is None:
        return MeasureResult(body, measurer.measure(vector))
    found = find_shape(body, find, measurer=measurer, progress=stage(progress, "looking for the shape"))
    taken = measurer.measure(found.weights)
    return MeasureResult(body, replace(taken, notes=(*taken.notes, *left_at_zero(body))), found)


def find_shape(
    body: Body, cm: Mapping[str, float | int], *, measurer: Measurer | None = None, progress: Step | None = None
) -> TapeFit:
    """The reachable shape nearest to what a tape should read, cm by name. See `measure`."""
    for name, value in cm.items():
        if name in MEASURE_NAMES and not 0 < value < math.inf:
            raise ArgumentError.of("measure", f"find[{name!r}]", "above 0 cm", f"{value:g}", "Give what the tape reads")
    unknown = next((name for name in cm if name not in MEASURE_NAMES), None)
    if unknown is not None or not cm:
        rule = f"measures by name: {', '.join(MEASURE_NAMES)}"
        raise ArgumentError.of("measure", "find", rule, "none" if unknown is None else repr(unknown), "Use these names")
    targets = {name: value / CM_PER_M for name, value in cm.items()}
    return fit_tape(measurer or Measurer(body), targets, progress=progress)
