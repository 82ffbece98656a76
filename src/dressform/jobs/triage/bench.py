"""One garment with what was measured of it so far: each shape once."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from time import perf_counter

import numpy as np

from dressform.arrays import Weights
from dressform.body.shapes import Shape, ShapeSettings, distinct, shape_at_base, shapes_of
from dressform.body.stance import Stance
from dressform.causes.base_places import base_places
from dressform.causes.explained_garment import ExplainedGarment
from dressform.faults.results import Place
from dressform.jobs.triage.match import BodyPlaces, FoundPlace, found_places
from dressform.jobs.triage.records import SeenCase
from dressform.sweep.results import SweepRow
from dressform.sweep.worst_asked import worst_of

SEARCHED = ShapeSettings(strongest=0, sobol=16)
"""Shapes of the range, beside the worst, at which a case without a shape is looked for."""


@dataclass
class TriageBench:
    """One garment, with what was measured of it so far."""

    key: str
    worn: ExplainedGarment
    stances: tuple[Stance, ...]
    rows: dict[tuple[bytes, str], SweepRow] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.places = BodyPlaces(self.worn.context.body)
        self.at_base = base_places(self.worn, bands=self.worn.bands)
        self.by_name = {stance.name: stance for stance in self.stances}
        self._usual: tuple[Shape, ...] | None = None

    @property
    def parts(self) -> tuple[str, ...]:
        """Names of the garment's parts."""
        return self.worn.fit.garment.part_names

    def row(self, label: str, weights: Weights, stance: str = "") -> SweepRow:
        """One shape measured, at rest or at a stance that the cloth can take; each once."""
        at = self.by_name.get(stance) if self.worn.fit.skin is not None else None
        key = weights.tobytes(), "" if at is None else at.name
        if key not in self.rows:
            start = perf_counter()
            faults = self.worn.measure(weights, at)
            self.rows[key] = SweepRow(self.key, label, weights, faults, perf_counter() - start, False, at)
        return self.rows[key]

    def base(self) -> SweepRow:
        """The base."""
        shape = shape_at_base(self.worn.context.body.range)
        return self.row(shape.label, shape.weights)

    def usual(self, stance: str = "") -> list[SweepRow]:
        """The base and the corners that are worst."""
        if self._usual is None:
            base = shape_at_base(self.worn.context.body.range)
            corners = [threat.shape for threat in worst_of(self.worn.fit, most=8)]
            self._usual = tuple(distinct([base, *corners]))
        return [self.row(shape.label, shape.weights, stance) for shape in self._usual]

    def searched(self, stance: str) -> list[SweepRow]:
        """Rows over the whole range: at a stance the base and the worst corners, at rest the ends and a sample too."""
        rows = self.usual(stance)
        if not stance:
            rows += [self.row(one.label, one.weights) for one in shapes_of(self.worn.context.body, settings=SEARCHED)]
        unique = {(row.weights.tobytes(), row.faults.stance): row for row in rows}
        return list(unique.values())


def place_of(bench: TriageBench, seen: SeenCase) -> FoundPlace | None:
    """The place that a case found, measured again where it was found in an earlier run; None where there is none."""
    if seen.place is None:
        return None
    row = bench.row(seen.label, np.array(seen.weights), seen.stance)
    for found in found_places(bench.worn, [row], bench.at_base):
        if found.place == seen.place:
            return found
    return None


def only(row: SweepRow, places: Sequence[Place]) -> SweepRow:
    """A row with some of its places alone."""
    return replace(row, faults=replace(row.faults, places=tuple(places)))
