"""What a check found, gathered for the reader: garments, each with its shapes, the worst first."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from dressform.causes.action import Action
from dressform.causes.results import Causes, Explanation, SharedPlace
from dressform.errors import ArgumentError
from dressform.faults.results import SEVERITIES, ShapeFaults
from dressform.faults.severity import graded_values
from dressform.formats.results.check_schema import key_of
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.record import Source

__all__ = ["FAULTY", "BodyReport", "CheckReport", "GarmentReport", "ShapeRow", "Source"]

FAULTY = "moderate"
"""A check fails from this severity on."""


FOLLOWING = "following"
"""The setting that says how each garment follows, by its name."""


@dataclass(frozen=True)
class ShapeRow:
    """One garment on one shape.

    Attributes:
        label: The shape's label.
        faults: What was measured.
        seconds: What the measurement took.
    """

    label: str
    faults: ShapeFaults
    seconds: float

    @property
    def stance(self) -> str:
        """Name of the pose; empty at rest."""
        return self.faults.stance

    @property
    def shape(self) -> tuple[bytes, tuple[tuple[str, float], ...]]:
        """Tells the shape from all others, whatever the pose: its weights and what moves joints."""
        return (self.faults.weights + 0.0).tobytes(), tuple(sorted(self.faults.joints.items()))

    @property
    def badness(self) -> tuple[float, ...]:
        """Sorts rows: severity, then the values of the faults that are graded so, in the order of `FAULTS`, then all.

        So the first row has the largest value of the first fault for which the garment's verdict is as bad as it is.
        """
        found, values = self.faults, graded_values(self.faults)
        blamed = [value if found.severities.get(fault) == found.severity else 0.0 for fault, value in values.items()]
        return (float(SEVERITIES.index(found.severity)), *blamed, *values.values())


@dataclass(frozen=True)
class GarmentReport:
    """One garment, followed by one method, on every shape that was looked at.

    Attributes:
        name: Name of the garment.
        source: Its file.
        method: Method.
        ease: Ease policy.
        vertices: Count, welded.
        triangles: Count.
        parts: Names of its parts.
        setup_seconds: Feet, lift and baked morphs.
        prepare_seconds: What the check prepares once, before the first shape.
        rows: One per shape, in the order in which the shapes were chosen; at least one. Those at stances come last.
        notes: Untidiness found in the file.
        under: Names of the garments worn under it.
        content: Hash of its vertices and triangles as they were read.
        given_key: Key under which the garment was checked, where that is another than `key_of` makes.
    """

    name: str
    source: Source
    method: str
    ease: str
    vertices: int
    triangles: int
    parts: tuple[str, ...]
    setup_seconds: float
    prepare_seconds: float
    rows: tuple[ShapeRow, ...]
    notes: tuple[str, ...] = ()
    under: tuple[str, ...] = ()
    given_key: str = ""
    content: str = ""

    @property
    def key(self) -> str:
        """Tells this entry from all others of a report: see `key_of`."""
        return self.given_key or key_of(self.name, self.method)

    @property
    def at_rest(self) -> "GarmentReport":
        """The same with the rows at rest alone."""
        rest = tuple(row for row in self.rows if not row.stance)
        return self if len(rest) == len(self.rows) else replace(self, rows=rest)

    @property
    def stances(self) -> Mapping[str, tuple[ShapeRow, ...]]:
        """Its rows at each stance, in the order of the stances; rest is not among them."""
        names = dict.fromkeys(row.stance for row in self.rows if row.stance)
        return {name: tuple(row for row in self.rows if row.stance == name) for name in names}

    def worst_first(self) -> list[ShapeRow]:
        """Rows by falling badness."""
        return sorted(self.rows, key=lambda row: row.badness, reverse=True)

    @property
    def severity(self) -> str:
        """The worst severity over all shapes."""
        return self.worst_first()[0].faults.severity

    @property
    def badness(self) -> tuple[float, ...]:
        """Sorts garments: severity, then the badness of the worst shape."""
        return (float(SEVERITIES.index(self.severity)), *self.worst_first()[0].badness)


@dataclass(frozen=True)
class BodyReport:
    """The body that garments were checked on.

    Attributes:
        name: Name of the base body.
        source: Its file.
        vertices: Count, welded.
        triangles: Count.
        stature: Metres.
        intervals: Lowest and highest weight of each morph.
        notes: Untidiness found in the file.
        joint_sliders: Lowest and highest value of each slider that moves joints.
        content: Hash of its vertices, triangles, morphs and range.
    """

    name: str
    source: Source
    vertices: int
    triangles: int
    stature: float
    intervals: Mapping[str, tuple[float, float]]
    notes: tuple[str, ...] = ()
    joint_sliders: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    content: str = ""


@dataclass(frozen=True)
class CheckReport:
    """Everything that one run of a check says.

    Attributes:
        made: When the run ended, ISO 8601 with its time zone.
        versions: Version of this program and of what it computes with.
        settings: What was asked for, by name.
        body: The body.
        garments: One per garment and method.
        seconds: The whole run.
        pictures: File names of the pictures drawn, per `GarmentReport.key`.
        causes: Why the faults are there; None where that was not asked.
        failed: Garments of which nothing is known, since they could not be read, fitted or measured.
    """

    made: str
    versions: Mapping[str, str]
    settings: Mapping[str, object]
    body: BodyReport
    garments: tuple[GarmentReport, ...]
    seconds: float
    pictures: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    causes: Causes | None = None
    failed: tuple[FailedGarment, ...] = ()

    def explained(self, garment: GarmentReport) -> tuple[Explanation, ...]:
        """Why the faults of one garment are there, the most noticed first; nothing where that was not asked."""
        return () if self.causes is None else self.causes.of_garment.get(garment.key, ())

    def actions(self, garment: GarmentReport) -> tuple[Action, ...]:
        """What to do about one garment, the most noticed first; nothing where that was not asked."""
        return () if self.causes is None else self.causes.actions.get(garment.key, ())

    @property
    def shared(self) -> tuple[SharedPlace, ...]:
        """Places where several garments of this report fail."""
        keys = {garment.key for garment in self.garments}
        shared = () if self.causes is None else self.causes.shared
        return tuple(one for one in shared if all(key in keys for key, _ in one.clusters))

    def worst_first(self) -> list[GarmentReport]:
        """Garments by falling badness."""
        return sorted(self.garments, key=lambda one: one.badness, reverse=True)

    def for_maker(self, name: str) -> "CheckReport":
        """The same about one garment alone: its maker is told nothing of others.

        Args:
            name: Name of the garment; every method by which it follows stays.

        Raises:
            ArgumentError: no garment of that name was checked; the names are listed.
        """
        mine = tuple(garment for garment in self.garments if garment.name == name)
        if not mine:
            known = ", ".join(dict.fromkeys(garment.name for garment in self.garments))
            raise ArgumentError.of(
                "report", "for_maker", f"a garment that was checked: {known}", repr(name), "Use one of these"
            )
        settings, following = dict(self.settings), self.settings.get(FOLLOWING)
        if isinstance(following, Mapping):
            settings[FOLLOWING] = {key: value for key, value in following.items() if key == name}
        return replace(self, garments=mine, failed=(), settings=settings)

    def with_causes(self, causes: Causes) -> "CheckReport":
        """The same report with causes. They change no verdict."""
        return replace(self, causes=causes)

    @property
    def at_rest(self) -> "CheckReport":
        """The same with the rows at rest alone."""
        return replace(self, garments=tuple(garment.at_rest for garment in self.garments))

    @property
    def severity(self) -> str:
        """The worst severity of all garments."""
        return max((garment.severity for garment in self.garments), key=SEVERITIES.index)

    @property
    def faulty(self) -> bool:
        """Whether anything is `FAULTY` or worse."""
        return SEVERITIES.index(self.severity) >= SEVERITIES.index(FAULTY)
