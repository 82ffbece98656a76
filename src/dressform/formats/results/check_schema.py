"""The results of a check as records, in the units that people read: mm, cm², per cent, ms.

They are the one source of `results.schema.json` and of the tables in `docs/results.md`.
"""

from typing import Annotated, Any

import msgspec
from msgspec import Meta

from dressform.causes.action import Action
from dressform.causes.results import Advice
from dressform.errors import ArgumentError
from dressform.faults.results import FaultName, Place, Severity
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.record import (
    Cause,
    Count,
    Interval,
    NonNegative,
    Owner,
    Percent,
    Record,
    Share,
    Source,
)

SCHEMA_NAME = "dressform-results/3"
LISTED = 12
"""So many names are listed where one is unknown."""


def key_of(garment: str, method: str) -> str:
    """Tells a garment that is followed by one method from all other entries of a report."""
    return f"{garment} {method}"


class StoredAtBase(Record, frozen=True):
    """Cloth that lies in the body before anything moves; after a repair, at the repaired base.

    Attributes:
        skin_cm2: Skin in front of the cloth, cm².
        inside_percent: Share of the cloth's area inside the body, tucked rims left out.
        tucked_cm2: Cloth inside the body that is a tucked rim, cm²: excused. See the page on faults.
        tucked_at: Regions of the body at which rims are tucked in, the largest first.
    """

    skin_cm2: NonNegative
    inside_percent: Percent
    tucked_cm2: NonNegative
    tucked_at: tuple[str, ...]


class StoredShowThrough(Record, frozen=True):
    """Skin that comes out of the cloth, and cloth inside the body.

    Attributes:
        exposed_cm2: Skin that the garment hid at the base and that shows, cm².
        exposed_percent: The same, in per cent of the skin that the garment hid at the base; 100 where skin
            beside it that is counted whole makes it more.
        hidden_cm2: Skin that the garment hid at the base, measured on this shape, cm².
        inside_percent: Share of the cloth's area inside the body; what lay inside at the base is left out.
        own_inside_percent: Share of the cloth's area inside the body at the base: the garment's own.
        depth_p95_mm: 95th percentile, by area, of how deep the cloth inside lies under the skin, mm.
        depth_max_mm: Deepest such point, mm.
        overlap_cm2: Skin inside another part of the same body, cm²; never blamed on the cloth.
        contact_cm2: At a stance, cloth inside the body across a crease, without room, or where blending of joints folds
            the skin, cm²; never blamed on the cloth.
    """

    exposed_cm2: NonNegative
    exposed_percent: Percent
    hidden_cm2: NonNegative
    inside_percent: Percent
    own_inside_percent: Percent
    depth_p95_mm: NonNegative
    depth_max_mm: NonNegative
    overlap_cm2: NonNegative
    contact_cm2: NonNegative = 0.0


class StoredPucker(Record, frozen=True):
    """Pucker index, percentiles over the cloth by area: 0 under every affine map, no unit.

    Null where the cloth has too few vertices to tell; a note of the garment says so, too.

    Attributes:
        p50: Median.
        p95: 95th percentile.
        p99: 99th percentile.
        max: Largest value.
        told_percent: Share of the cloth's area on which the mesh is fine enough to tell, %.
        patch: Value that the worst 5 cm² reach, which is graded.
    """

    p50: NonNegative | None
    p95: NonNegative | None
    p99: NonNegative | None
    max: NonNegative | None
    told_percent: NonNegative = 100.0
    patch: NonNegative | None = None


class StoredStretch(Record, frozen=True):
    """Principal stretches of the cloth's triangles against the base body.

    Attributes:
        l2: Sander's L²: 1 when nothing stretches.
        linf: Sander's L∞: the largest principal stretch.
        log_p99: 99th percentile by area of the larger |ln principal stretch|.
        relative_log_p99: The same beyond both the cloth's own length and the skin's at the feet.
        green_p99: 99th percentile by area of the largest |Green strain|.
        dirichlet: Area mean of σ₁² + σ₂² + σ₁⁻² + σ₂⁻²: 4 when nothing stretches.
    """

    l2: NonNegative
    linf: NonNegative
    log_p99: NonNegative
    relative_log_p99: NonNegative
    green_p99: NonNegative
    dirichlet: NonNegative


class StoredGirth(Record, frozen=True):
    """Girth of the cloth minus girth of the body at one tape level.

    Attributes:
        base_mm: Ease at the base, mm.
        shape_mm: Ease on this shape, mm.
    """

    base_mm: float
    shape_mm: float


class StoredPercentiles(Record, frozen=True):
    """Percentiles of the clearance change in one region.

    Attributes:
        p5_mm: 5th percentile by area, mm.
        p50_mm: Median, mm.
        p95_mm: 95th percentile by area, mm.
    """

    p5_mm: float
    p50_mm: float
    p95_mm: float


class StoredClearanceChange(Record, frozen=True):
    """Clearance minus clearance at the base: negative where the cloth came nearer to the skin.

    Attributes:
        p5_mm: 5th percentile by area, mm.
        p50_mm: Median, mm.
        p95_mm: 95th percentile by area, mm.
        regions: The same per region of the body.
    """

    p5_mm: float
    p50_mm: float
    p95_mm: float
    regions: dict[str, StoredPercentiles]


class StoredBroken(Record, frozen=True):
    """Cloth that is no longer sound; what the base body already has is left out.

    Attributes:
        folded_faces: Triangles turned against the cloth around them.
        crossing_pairs: Pairs of the garment's triangles that cross each other where the body leaves them room.
        cut_cm2: Area of such triangles that cut at least 1 mm deep, cm².
        cut_depth_mm: How deep the deepest pair cuts, mm.
        seam_opening_mm: Widest gap between vertices that coincide at the base, mm.
        hard_bend_mm: Largest departure of a hard part from its best rigid motion and scale, mm.
        layer_swaps: Vertices of an outer layer that have come under a layer they lay over.
        folded_cm2: Area of the triangles turned over, cm².
        swapped_cm2: Cloth of outer layers that has come under a layer it lay over, as seen from outside, cm².
        pierced_cm2: Cloth of garments worn under this one that lies outside it, cm²; at the base it counts too.
        bent_degrees: Turn from where smooth following would have the cloth face: what its worst 50 cm² reach, or 0.7 of
            what a fold of 5 cm² reaches, °.
    """

    folded_faces: Count
    crossing_pairs: Count
    seam_opening_mm: NonNegative
    hard_bend_mm: NonNegative
    layer_swaps: Count
    pierced_cm2: NonNegative
    cut_cm2: NonNegative = 0.0
    cut_depth_mm: NonNegative = 0.0
    folded_cm2: NonNegative = 0.0
    swapped_cm2: NonNegative = 0.0
    bent_degrees: NonNegative = 0.0


class StoredShape(Record, frozen=True):
    """Every fault of one garment on one shape.

    Attributes:
        label: Name of the shape: its weights, or where it comes from.
        weights: Weight of each morph that is not 0.
        severity: The worst of `severities`.
        severities: Severity of each fault.
        ms: Time of measuring every fault on this shape, ms.
        show_through: Skin that comes out of the cloth, and cloth inside the body.
        pucker: Pucker index over the cloth.
        stretch: How far the cloth stretches.
        clearance_change: How the clearance has changed.
        girth_ease: Per tape level: girth of the cloth minus girth of the body; empty at a stance.
        broken: Cloth that is no longer sound.
        places: Connected places where faults sit, the gravest first.
        joints: Value of each slider that moves joints and is not at 0.
    """

    label: str
    weights: dict[str, float]
    severity: Severity
    severities: dict[FaultName, Severity]
    ms: NonNegative
    show_through: StoredShowThrough
    pucker: StoredPucker
    stretch: StoredStretch
    clearance_change: StoredClearanceChange
    girth_ease: dict[str, StoredGirth]
    broken: StoredBroken
    places: tuple[Place, ...]
    joints: dict[str, float] = msgspec.field(default_factory=dict)


class StoredStance(Record, frozen=True):
    """Every fault of one garment at one stance.

    Attributes:
        name: Name of the pose; `as modelled` where only sliders move joints.
        severity: The worst severity over all shapes there.
        worst_shape: Label of the worst shape there.
        shapes: One entry per shape, the worst first.
    """

    name: str
    severity: Severity
    worst_shape: str
    shapes: Annotated[tuple[StoredShape, ...], Meta(min_length=1)]


class StoredSighting(Record, frozen=True):
    """A place on one shape.

    Attributes:
        label: Name of the shape.
        weights: Weight of each morph that is not 0.
        severity: How bad it is there.
        value: Value there, in the `unit` of the place.
        stance: Name of the stance; empty at rest.
    """

    label: str
    weights: dict[str, float]
    severity: Severity
    value: float
    stance: str = ""


class StoredShare(Record, frozen=True):
    """What one cause has to do with a place.

    Attributes:
        cause: Which cause.
        share: Part of the fault that goes away with this cause, averaged over the orders in which ingredients are
            swapped.
        alone: The fault with only this ingredient swapped, in the `unit` of the place.
        counterfactual: What was swapped.
    """

    cause: Cause
    share: Share
    alone: float
    counterfactual: str


class StoredCluster(Record, frozen=True):
    """One fault at one connected place, over shapes, and why it is there.

    Attributes:
        name: Number of the place within its garment: `1` is what a wearer would notice most.
        place: Where it is worst, and how bad it is there.
        vertices: Vertices that belong to it on its worst shape: of the body for `exposed`, of the cloth for every other
            fault.
        noticed: How much a wearer sees of it; ranks clusters, no unit.
        seen: Shapes on which it was seen, the worst first.
        measured: The fault at the place on its worst shape as it is, in the place's `unit`: what shares are shares of.
        shares: One per counterfactual that was tried, the largest share first.
        cause: The cause with the largest share; empty where none explains enough.
        owner: Who can take the cause away; empty where there is none.
        advice: What to do; null where no cause was found.
        evidence: Figures that the cause rests on, units at the end of their names; what follows a `/` is the morph or
            base body that a figure is of.
    """

    name: str
    place: Place
    vertices: tuple[Count, ...]
    noticed: NonNegative
    seen: Annotated[tuple[StoredSighting, ...], Meta(min_length=1)]
    measured: float
    shares: tuple[StoredShare, ...]
    cause: Cause
    owner: Owner
    advice: Advice | None
    evidence: dict[str, float]


class StoredShared(Record, frozen=True):
    """Somewhere on the body where several garments fail.

    Attributes:
        fault: Which fault.
        region: Region of the body; empty where the body names none.
        side: Side, as in a place.
        height_mm: Mean height above the ground, mm.
        clusters: The places of the garments there, as `GARMENT METHOD/NUMBER`.
        suspect: Who is the suspect.
        sentence: The same in one sentence.
    """

    fault: FaultName
    region: str
    side: str
    height_mm: float
    clusters: tuple[str, ...]
    suspect: Owner
    sentence: str


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
