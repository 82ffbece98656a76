"""What the page is told first, as records: the same in the live page and in the report.

They are the one source of the types in `web/src/data/schema.ts`.
"""

from typing import Any, Literal

from dressform.faults.fault import LayerKind, Surface
from dressform.faults.results import FaultName, Place, Severity
from dressform.formats.results.check_schema import StoredShare, StoredShared
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.record import Cause, Count, NonNegative, Owner, Position, Record

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
    """

    name: str
    low: float
    high: float
    position_m: Position


class SettingsAbout(Record, frozen=True):
    """How a garment follows now, every setting spelt out.

    Attributes:
        strength: Of all of it, 0 to 1.
        parts: Strength of named parts, 0 to 1.
        falloff_mm: Width of the soft rim between strengths, mm.
        painted: Whether a strength is painted.
        hard: Parts that move rigidly.
        margin_mm: Least distance from the skin that repairs keep, mm.
        ease: Ease policy.
        rotation_share: How far the offset from the skin turns with it: 0 not at all, 1 fully; null for the method's
            own.
        joint_weights: Where the joint weights come from.
        part_joints: Joint by part, for rigid parts; empty for the one that carries most.
    """

    strength: float
    parts: dict[str, float]
    falloff_mm: float
    painted: bool
    hard: tuple[str, ...]
    margin_mm: float
    ease: str
    rotation_share: float | None
    joint_weights: str
    part_joints: dict[str, str]


class GarmentAbout(Record, frozen=True):
    """One garment, followed by one method.

    Attributes:
        key: Tells it from all others of the page.
        name: Name of the garment.
        file: Name of its file.
        sha256: Hash of the file's content.
        vertices: Count, welded.
        triangles: Count.
        parts: Names of its parts.
        severity: The worst severity over all shapes; empty where nothing was measured yet.
        verdict: One line: how many shapes fail, which is worst, and by what.
        worst: Index of its worst shape; null where it was not checked.
        method: Method by which it follows.
        ease: Ease policy.
        colours: One `#rrggbb` per part; empty where unknown.
        worn: Whether it is worn when the page opens.
        notes: Untidiness found in its file.
        variant_of: Key of the garment that this is another version of, or empty.
        variant: What sets it apart from other versions of the garment, or empty.
        revision: Live: grows with every edit.
        settings: Live: how it follows; null in a report.
    """

    key: str
    name: str
    file: str
    sha256: str
    vertices: Count
    triangles: Count
    parts: tuple[str, ...]
    severity: Severity
    verdict: str
    worst: Count | None
    method: str
    ease: str
    colours: tuple[str, ...] = ()
    worn: bool = True
    notes: tuple[str, ...] = ()
    variant_of: str = ""
    variant: str = ""
    revision: int = 0
    settings: SettingsAbout | None = None


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


class WeightsAbout(Record, frozen=True):
    """A set of weights with its name.

    Attributes:
        label: What a person reads.
        weights: One per slider.
    """

    label: str
    weights: tuple[float, ...]


class FigureAbout(Record, frozen=True):
    """A figure that advice rests on.

    Attributes:
        words: What it is.
        value: How much, in `unit`.
        unit: Unit, or empty.
    """

    words: str
    value: float
    unit: str


class ClusterAbout(Record, frozen=True):
    """One fault at one place of one garment, over shapes, and why it is there.

    Attributes:
        id: Tells it from all others of the page.
        name: Name within its garment: `1` is what a wearer would notice most.
        garment: Key of the garment.
        place: Where it is worst, and how bad it is there.
        fault_words: What a person reads for the fault.
        shape: The shape on which it is worst.
        stance: Name of the stance at which it is worst, or empty for rest.
        seen: On how many shapes it was seen.
        cause: The cause with the largest share, or empty.
        owner: Who can take the cause away, or empty.
        because: Cause, share and owner in words, or empty.
        shares: One per counterfactual that was tried, the largest first.
        where: Where it is, in words.
        advice: What to change, or empty.
        repair: Which repair does it instead, or empty.
        evidence: Figures that the advice rests on.
        picture: A close-up as a file name or data URI, or empty.
    """

    id: str
    name: str
    garment: str
    place: Place
    fault_words: str
    shape: WeightsAbout
    stance: str
    seen: Count
    cause: Cause
    owner: Owner
    because: str
    shares: tuple[StoredShare, ...]
    where: str
    advice: str
    repair: str
    evidence: tuple[FigureAbout, ...]
    picture: str = ""


class ActionAbout(Record, frozen=True):
    """One thing to do about one garment, with all the places that it is for.

    Attributes:
        id: Tells it from all others of the page.
        name: Its letter within its garment: `A` is the one whose places a wearer would notice most.
        garment: Key of the garment.
        severity: How bad the worst of its places is.
        cause: The cause of its places.
        owner: Who can take the cause away.
        where: The numbers of the places that it is for, and where they are.
        places: Ids of these places, the most noticed first.
        todo: What to do, each with what trying it left, the best first; where nothing helps, that.
        is_offered: Whether anything that was tried helps without harm.
    """

    id: str
    name: str
    garment: str
    severity: Severity
    cause: Cause
    owner: Owner
    where: str
    places: tuple[str, ...]
    todo: tuple[str, ...]
    is_offered: bool


class SliderCurve(Record, frozen=True):
    """Faults along one slider, all others at the base.

    Attributes:
        at: Weights of the slider, rising.
        values: By fault, one value per weight, in the unit of the fault.
    """

    at: tuple[float, ...]
    values: dict[FaultName, tuple[float, ...]]


class ClearanceChart(Record, frozen=True):
    """Shares of the cloth's area by its clearance.

    Attributes:
        edges: Bounds of the bins, mm; one more than there are bins.
        base: As modelled.
        before: At the worst shape.
        after: There after a repair; null where nothing was repaired.
    """

    edges: tuple[float, ...]
    base: tuple[float, ...]
    before: tuple[float, ...]
    after: tuple[float, ...] | None


class PairsChart(Record, frozen=True):
    """One fault with two sliders away from the base, the worst that was measured of each pair.

    Attributes:
        fault: Which fault.
        unit: Unit of the values.
        values: By slider and slider, one alone on the diagonal; null where nothing was measured.
        weights: Weights of the two there.
    """

    fault: FaultName
    unit: str
    values: tuple[tuple[float | None, ...], ...]
    weights: tuple[tuple[tuple[float, float] | None, ...], ...]


class GarmentCharts(Record, frozen=True):
    """The charts of one garment.

    Attributes:
        weights: Faults along each slider, by its name.
        clearance: How far from the skin the cloth lies; null where it was not measured.
        pairs: One fault with two sliders at once.
    """

    weights: dict[str, SliderCurve]
    clearance: ClearanceChart | None
    pairs: PairsChart


class AnimationAbout(Record, frozen=True):
    """An animation of the body file.

    Attributes:
        name: Its name.
        duration_s: How long it lasts, seconds.
        count: Number of key frames.
    """

    name: str
    duration_s: NonNegative
    count: Count


class StanceAbout(Record, frozen=True):
    """A stance in which garments are looked at.

    Attributes:
        name: What it is called.
        origin: Where it comes from, in words.
    """

    name: str
    origin: str


class PosedShapeAbout(Record, frozen=True):
    """A shape of one garment at a stance that was looked at.

    Attributes:
        garment: Key of the garment.
        stance: Index into the stances; null where only sliders move joints.
        label: What a person reads for the shape.
        weights: One per slider.
        joints: Value of each slider that moves joints.
        severity: How bad it is there.
        fault: The fault that is gravest there.
        words: What a person reads for it, with its amount; empty where the garment is clean.
    """

    garment: str
    stance: Count | None
    label: str
    weights: tuple[float, ...]
    joints: tuple[float, ...]
    severity: Severity
    fault: FaultName
    words: str


class JointSliderAbout(Record, frozen=True):
    """A slider that moves joints; the body is as modelled at 0.

    Attributes:
        name: Its name.
        low: Its lower end.
        high: Its upper end.
        position_m: The first joint that it moves, metres.
    """

    name: str
    low: float
    high: float
    position_m: Position


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
