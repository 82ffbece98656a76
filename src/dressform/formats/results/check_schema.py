"""The results of a check as records, in the units that people read: mm, cm², per cent, ms.

They are the one source of `results.schema.json` and of the tables in `docs/results.md`.
"""

from typing import Annotated, Any

import msgspec
from msgspec import Meta

from dressform.causes.action import Action
from dressform.errors import ArgumentError
from dressform.faults.results import Severity
from dressform.formats.results.cluster_schema import StoredCluster, StoredShared
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.record import (
    Count,
    Interval,
    NonNegative,
    Record,
    Source,
)
from dressform.formats.results.shape_schema import StoredAtBase, StoredShape, StoredStance

SCHEMA_NAME = "dressform-results/3"
LISTED = 12
"""So many names are listed where one is unknown."""


def key_of(garment: str, method: str) -> str:
    """Tells a garment that is followed by one method from all other entries of a report."""
    return f"{garment} {method}"


class StoredGarment(Record, frozen=True):
    """One garment, followed by one method, on every shape that was looked at.

    Attributes:
        name: Name of the garment.
        source: Its file.
        method: Method by which it follows.
        ease: `keep`: the distance to the skin stays; `scale`: it grows with the body.
        vertices: Vertices after welding.
        triangles: Triangles.
        parts: Names of the garment's parts.
        worn_over: Names of the garments worn under it, where an outfit was checked.
        severity: The worst severity over all shapes, at rest and at every stance.
        at_base: Cloth that lies in the body before anything moves.
        worst_shape: Label of the worst shape at rest.
        setup_ms: Finding the feet, making the lift and baking the morphs, ms; of the first garment of a run with the
            compiling of what it needs.
        prepare_ms: What the check prepares once for all shapes, ms.
        shape_ms: Median time of measuring every fault on one shape, ms.
        explain_ms: Finding the causes of every place, ms; 0 where they were not sought.
        pictures: Files with pictures of this garment, relative to this file.
        notes: What was found untidy in the file.
        clusters: Why the faults are there, the place that a wearer would notice most first; empty where the garment is
            clean or causes were not sought.
        shapes: One entry per shape at rest, the worst first.
        actions: What to do, each for all the places that it cures, that first of whose places a wearer sees most.
        stances: What was found at each stance, the worst first; empty where none was asked for.
        worst_stance: Stance of the worst shape of all; empty where that is at rest.
        content: SHA-256 of its vertices and triangles as they were read, so that it is known without its file.
    """

    name: str
    source: Source
    method: str
    ease: str
    vertices: Count
    triangles: Count
    parts: tuple[str, ...]
    worn_over: tuple[str, ...]
    severity: Severity
    at_base: StoredAtBase
    worst_shape: str
    setup_ms: NonNegative
    prepare_ms: NonNegative
    shape_ms: NonNegative
    explain_ms: NonNegative
    pictures: tuple[str, ...]
    notes: tuple[str, ...]
    clusters: tuple[StoredCluster, ...]
    shapes: Annotated[tuple[StoredShape, ...], Meta(min_length=1)]
    actions: tuple[Action, ...] = ()
    stances: tuple[StoredStance, ...] = ()
    worst_stance: str = ""
    content: str = ""

    @property
    def key(self) -> str:
        """Tells it from all others of the results."""
        return key_of(self.name, self.method)

    def called(self, name: str) -> list[tuple["StoredGarment", StoredCluster]]:
        """The place of a number, or the most noticed place of the action of a letter; empty where there is none."""
        lead = next((action.places[0] for action in self.actions if action.name == name and action.places), name)
        return [(self, cluster) for cluster in self.clusters if cluster.name == lead]


class StoredBody(Record, frozen=True):
    """The body that the garments were checked on.

    Attributes:
        name: Name of the base body.
        source: Its file.
        vertices: Vertices after welding.
        triangles: Triangles.
        stature_mm: Height of the base body, mm.
        range: Per morph: the interval of weights that a wearer may reach.
        notes: What was found untidy in the file.
        joint_sliders: Per slider that moves joints: from which value to which it goes.
        content: SHA-256 of its vertices, triangles, morphs and range, so that it is known without its file.
    """

    name: str
    source: Source
    vertices: Count
    triangles: Count
    stature_mm: NonNegative
    range: dict[str, Interval]
    notes: tuple[str, ...]
    joint_sliders: dict[str, Interval] = msgspec.field(default_factory=dict)
    content: str = ""


class StoredResults(Record, frozen=True, tag_field="schema", tag=SCHEMA_NAME):
    """What one run of `dressform check` found.

    Attributes:
        schema: Name and version of this format. The number grows when a reader of the old format would misread the new
            one.
        made: When the run ended, ISO 8601 with its time zone.
        seconds: The whole run, from reading the files to the last measurement, s.
        versions: Version of dressform and of what it computes with.
        settings: What was asked for, by the name of the option; defaults are spelt out.
        severity: The worst severity of all garments.
        body: The body that the garments were checked on.
        garments: One entry per garment and method, the worst first.
        shared_places: Where on the body several garments fail; empty where causes were not sought.
        failed: Garments of which nothing is known, since they could not be read, fitted or measured; no verdict
            speaks of them.
    """

    made: str
    seconds: NonNegative
    versions: dict[str, str]
    settings: dict[str, Any]
    severity: Severity
    body: StoredBody
    garments: Annotated[tuple[StoredGarment, ...], Meta(min_length=1)]
    shared_places: tuple[StoredShared, ...]
    failed: tuple[FailedGarment, ...] = ()

    def find(self, name: str) -> tuple[StoredGarment, StoredCluster]:
        """The place called `garment/1`, or the most noticed place of the action `garment/A`.

        `garment method/1` names it where a garment was followed by several methods.

        Raises:
            ArgumentError: there is no such place or action, or several; those that there are are listed.
        """
        wanted, _, called = name.rpartition("/")
        named = [garment for garment in self.garments if wanted in (garment.name, garment.key)]
        found = [pair for garment in named for pair in garment.called(called)]
        if len(found) == 1:
            return found[0]
        every = [(garment, cluster) for garment in named or self.garments for cluster in garment.clusters]
        listed = [f"{self._short_of(garment)}/{cluster.name}" for garment, cluster in found or every]
        more = [f"{len(listed) - LISTED} more"] if len(listed) > LISTED else []
        known = ", ".join(listed[:LISTED] + more) or "none: the garments are clean, or causes were not sought"
        raise ArgumentError.of("explain", "PLACE", f"one of {known}", repr(name), "Name one of these")

    def _short_of(self, garment: StoredGarment) -> str:
        """The shortest name by which a garment is told from the others."""
        return garment.key if sum(one.name == garment.name for one in self.garments) > 1 else garment.name

    def shared_with(self, garment: StoredGarment, cluster: StoredCluster) -> tuple[StoredShared, ...]:
        """Shared places that a cluster belongs to."""
        name = f"{garment.key}/{cluster.name}"
        return tuple(one for one in self.shared_places if name in one.clusters)
