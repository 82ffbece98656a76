"""Two checks looked at again: their fits for pictures, and measured for a page at the shapes that tell most."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from dressform.body.shapes import Shape, distinct, shape_at_base
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.formats.results.check_schema import StoredResults
from dressform.formats.results.compare_schema import StoredComparison
from dressform.jobs.compare.again import made_again
from dressform.jobs.compare.pictures import SideFits
from dressform.jobs.compare.sides import MeasuredSides, SideSettings, measured_fits
from dressform.jobs.progress import Progress
from dressform.report.tables.comparison import rows_words
from dressform.sweep.worst_asked import worst_of
from dressform.units import counted

SHOWN = 12
"""So many shapes of each garment are measured again for a page, those first at which both sides differ most."""
WORST = 2
"""So many of the worst corners of each side are among them."""


@dataclass(frozen=True)
class CheckedSide:
    """What one check found.

    Attributes:
        name: What it is called.
        told: Its results.
        fits: Its fits by garment, where they are at hand.
    """

    name: str
    told: StoredResults
    fits: Mapping[str, Fit] | None


@dataclass(frozen=True)
class SeenSides:
    """The fits of each side, and why there are no others.

    Attributes:
        fits: By side, its fits by the name of the garment on the first side.
        why: Why garments cannot be made again, one sentence each.
    """

    fits: SideFits
    why: tuple[str, ...]


def fits_of_checks(told: StoredComparison, sides: Sequence[CheckedSide]) -> SeenSides:
    """The fits of two checks, made again from the files where they are not at hand."""
    ours, theirs = (dict.fromkeys(one.name for one in side.told.garments) for side in sides)
    compared = [name for name in ours if told.paired.get(name, name) in theirs]
    fits: dict[str, dict[str, Fit]] = {}
    why: list[str] = []
    for side, renamed in zip(sides, ({}, told.paired)):
        own = {renamed.get(name, name): name for name in compared}
        made: Mapping[str, Fit]
        if side.fits is None:
            again = made_again(side.told, own)
            made = again.fits
            why += [f"no picture of {name} of {side.name}: {reason}" for name, reason in again.why.items()]
        else:
            made = side.fits
        fits[side.name] = {own[name]: one for name, one in made.items() if name in own}
    return SeenSides(fits, tuple(why))


def measured_again(
    told: StoredComparison, sides: Sequence[CheckedSide], seen: SeenSides, *, progress: Progress | None = None
) -> MeasuredSides:
    """The garments that both sides have, measured at rest on the shapes at which they differ most.

    Raises:
        ArgumentError: no garment can be made again on both sides; the reasons are told.
    """
    start = time.perf_counter()
    first, second = (seen.fits[side.name] for side in sides)
    both = [name for name in first if name in second]
    if not both:
        rule, advice = (
            "of garments whose files are there as they were checked",
            "Check both sides again, or leave it out",
        )
        raise ArgumentError.of("compare", "report", rule, " ".join(seen.why) or "none", advice)
    body = first[both[0]].body
    fits: dict[str, Fit] = {}
    chosen: dict[str, list[Shape]] = {}
    notes: dict[str, tuple[str, ...]] = {}
    for name in both:
        found = [
            Shape(one.shape, body.weights(one.weights))
            for one in told.garments
            if one.garment == name and not one.stance
        ]
        corners = [threat.shape for one in (first, second) for threat in worst_of(one[name], most=WORST)]
        shapes = distinct([shape_at_base(body.range), *found, *corners])[:SHOWN]
        for side in sides:
            key = f"{name} {side.name}"
            fits[key] = _beside(seen.fits[side.name][name], first[name], side.name)
            chosen[key], notes[key] = shapes, _notes(told, name)
    settings = SideSettings()
    check = measured_fits(
        fits, chosen, settings, seconds=dict.fromkeys(fits, 0.0), start=start, notes=notes, progress=progress
    )
    return MeasuredSides(check, {side.name: tuple(f"{name} {side.name}" for name in both) for side in sides})


def _beside(fit: Fit, first: Fit, side: str) -> Fit:
    """A fit to be shown beside that of the first side: on its body, with a name of its own where it is other cloth.

    A page draws all that have one name in the colours of one file.
    """
    if fit.body is not first.body:
        fit = replace(fit, body=first.body)
    one, other = fit.garment, first.garment
    if one.name == other.name and not np.array_equal(one.faces, other.faces):
        fit = replace(fit, garment=replace(one, name=f"{one.name} of {side}"))
    return fit


def _notes(told: StoredComparison, name: str) -> tuple[str, ...]:
    """What was lost of a garment, for the page."""
    found = []
    for one in told.unpaired:
        if one.garment == name:
            for labels, side in ((one.first, told.first), (one.second, told.second)):
                if labels:
                    count = counted(len(labels), "row")
                    words = f"{count} beside the {one.both} that both sides have count for nothing"
                    found.append(f"{words}, {rows_words(labels, side)}.")
    return tuple(found)
