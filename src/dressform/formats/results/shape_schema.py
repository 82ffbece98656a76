"""What a JSON of results says of one shape of one garment."""

from typing import Annotated

import msgspec
from msgspec import Meta

from dressform.faults.results import FaultName, Place, Severity
from dressform.formats.results.record import (
    Count,
    NonNegative,
    Percent,
    Record,
)


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
