"""What the page is told first, as records: the same in the live page and in the report.

These records, with those beside them, are the one source of the types in `web/src/data/schema.ts`.
"""

from typing import Any, Literal

from dressform.faults.fault import LayerKind, Surface
from dressform.faults.results import Severity
from dressform.formats.results.cluster_schema import StoredShared
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.page.charts import GarmentCharts
from dressform.formats.results.page.garments import GarmentAbout
from dressform.formats.results.page.places import ActionAbout, ClusterAbout
from dressform.formats.results.page.stances import AnimationAbout, JointSliderAbout, PosedShapeAbout, StanceAbout
from dressform.formats.results.record import Count, Position, Record

PAGE_FORMAT = "dressform-page/2"

Life = Literal["live", "report"]

CheckState = Literal["running", "done", "stopped", "failed", "none"]

Ability = Literal["edit", "case", "export", "measure", "pose", "fit", "tape", "save"]


class BodyAbout(Record, frozen=True):
    """The body.

    Attributes:
        name: Name of the base body.
        file: Name of its file.
        sha256: Hash of the file's content.
        stature_m: Height of the base body, metres.
    """

    name: str
    file: str
    sha256: str
    stature_m: float


class Slider(Record, frozen=True):
    """A morph of the body.

    Attributes:
        name: The morph.
        low: Smallest weight that a wearer may reach.
        high: Largest.
        position_m: Middle of the skin that it moves, metres.
        ends: Body vertices where it moves most: one, or one on each side; none where it moves nothing.
    """

    name: str
    low: float
    high: float
    position_m: Position
    ends: tuple[Count, ...] = ()


class LayerAbout(Record, frozen=True):
    """A field that the page can show on the surface.

    Attributes:
        name: Name in packs.
        label: What a person reads.
        unit: Unit of its values; empty for a pure number.
        on: Which surface it lies on.
        kind: `rising` from nothing, `diverging` round 0, or `classes`.
        low: Value at which the scale begins.
        high: Value at which it ends.
        meaning: One sentence.
        classes: Words of the values 0, 1, ... of `classes`.
    """

    name: str
    label: str
    unit: str
    on: Surface
    kind: LayerKind
    low: float
    high: float
    meaning: str
    classes: tuple[str, ...] = ()


class ShapeAbout(Record, frozen=True):
    """A set of weights that was looked at.

    Attributes:
        label: What a person reads.
        weights: One per slider.
        severity: By garment, of those that were looked at there.
    """

    label: str
    weights: tuple[float, ...]
    severity: dict[str, Severity]


class CheckAbout(Record, frozen=True):
    """What the check over the whole range is doing.

    Attributes:
        state: How far it is.
    """

    state: CheckState = "none"


class About(Record, frozen=True, tag_field="format", tag=PAGE_FORMAT):
    """What the page is told first. It holds names of files, never their folders.

    Attributes:
        format: Name and version of this format.
        life: Whether a program answers, or everything stands in the document.
        made: When the check ended, ISO 8601; empty before.
        versions: Version of dressform and of what it computes with.
        settings: What was asked for, by name.
        body: The body.
        bases: Names of the base bodies of the body file.
        base: Index of the one that is shown.
        sliders: The morphs.
        garments: Garments with their verdicts.
        layers: What can be shown on the surface.
        shapes: Shapes that were looked at.
        clusters: What is wrong, where and why, the gravest first.
        shared: Where on the body several garments fail.
        actions: What to do, that first of whose places a wearer sees most.
        charts: By garment; those that there are.
        measures: Names of the tape measures that can be taken.
        animations: Of the body file.
        can: What the page may ask for.
        cautions: What must be said with the figures.
        joints: Live: names of the joints that can be turned.
        stances: Live: in which garments are looked at.
        posed: Live: what was found at stances, the worst of each garment first.
        joint_sliders: Live: sliders that move joints.
        check: Live: what the check is doing.
        failed: Garments of which nothing is known, since they could not be read, fitted or measured.
    """

    life: Life
    made: str
    versions: dict[str, str]
    settings: dict[str, Any]
    body: BodyAbout
    bases: tuple[str, ...]
    base: Count
    sliders: tuple[Slider, ...]
    garments: tuple[GarmentAbout, ...]
    layers: tuple[LayerAbout, ...]
    shapes: tuple[ShapeAbout, ...]
    clusters: tuple[ClusterAbout, ...]
    shared: tuple[StoredShared, ...]
    charts: dict[str, GarmentCharts]
    measures: tuple[str, ...]
    animations: tuple[AnimationAbout, ...]
    can: tuple[Ability, ...]
    cautions: tuple[str, ...]
    joints: tuple[str, ...] = ()
    stances: tuple[StanceAbout, ...] = ()
    posed: tuple[PosedShapeAbout, ...] = ()
    joint_sliders: tuple[JointSliderAbout, ...] = ()
    check: CheckAbout = CheckAbout()
    actions: tuple[ActionAbout, ...] = ()
    failed: tuple[FailedGarment, ...] = ()
