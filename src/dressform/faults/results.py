"""Frozen results for one shape, in metres and shares; a place uses the units that people read."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

import numpy as np
from jaxtyping import Bool, Float
from msgspec import Meta, Struct

from dressform.arrays import BodyPoints, ClothPoints, Weights
from dressform.units import CM2_PER_M2, MM_PER_M

SEVERITIES = ("clean", "slight", "moderate", "grave")
"""From nothing to see to not wearable; the order is that of increasing severity."""


MAX_WORD = 500
"""Longest name of a region, side, part or fault that is read from a file or a page."""

Word = Annotated[str, Meta(max_length=MAX_WORD)]
Number = Annotated[float, Meta(ge=-1e9, le=1e9)]
Amount = Annotated[float, Meta(ge=0, le=1e9)]
Index = Annotated[int, Meta(ge=-1, le=2**31)]
Point = tuple[Number, Number, Number]
FaultName = Annotated[str, Meta(title="Fault", max_length=MAX_WORD)]
"""One of `registry.FAULTS`, or empty."""
Severity = Annotated[str, Meta(title="Severity", max_length=MAX_WORD, extra_json_schema={"enum": ["", *SEVERITIES]})]
"""One of `SEVERITIES`, or empty where nothing was graded."""


@dataclass(frozen=True)
class AtBase:
    """Cloth that lies in the body before anything moves; the same on every shape. After a repair: at its own base.

    Attributes:
        skin_area: Skin in front of the cloth, m².
        inside_share: Share of the cloth's area inside the body, tucked rims left out, 0 to 1.
        tucked_area: Cloth inside the body that is a tucked rim, m²: excused.
        tucked_at: Regions of the body at which rims are tucked in, the largest first.
    """

    skin_area: float
    inside_share: float
    tucked_area: float
    tucked_at: tuple[str, ...] = ()


@dataclass(frozen=True)
class ShowThrough:
    """Cloth inside the body, and skin that comes out of the cloth.

    Attributes:
        exposed_area: Skin that the garment hid at the base and that shows, m².
        exposed_share: `exposed_area` over the skin hidden at the base (both measured on this shape), 0 to 1.
        hidden_area: Skin that the garment hid at the base, measured on this shape, m².
        inside_share: Share of the cloth's area inside the body, what lay inside at the base left out.
        own_inside_share: Share of the cloth's area inside the body at the base: the garment's own.
        depth_p95: 95th percentile, by area, of how deep the cloth inside lies under the skin, metres.
        depth_max: Deepest such point, metres.
        overlap_area: Skin that lies inside another part of the same body, m²; never blamed on the cloth.
        contact_area: At a stance, cloth inside the body across a crease, without room, or where blending folds the
            skin, m²; never blamed on the cloth.
    """

    exposed_area: float
    exposed_share: float
    hidden_area: float
    inside_share: float
    own_inside_share: float
    depth_p95: float
    depth_max: float
    overlap_area: float
    contact_area: float = 0.0


@dataclass(frozen=True)
class Pucker:
    """Pucker index over the cloth, percentiles by area, no unit; NaN where the cloth is too coarse to tell.

    Attributes:
        p50: Median.
        p95: 95th percentile.
        p99: 99th percentile.
        max: Largest value.
        told_share: Share of the cloth's area on which the mesh is fine enough to tell.
        patch: Value that the worst 5 cm² of the cloth reach.
    """

    p50: float
    p95: float
    p99: float
    max: float
    told_share: float = 1.0
    patch: float = 0.0

    @property
    def is_told(self) -> bool:
        """Whether there are figures."""
        return not math.isnan(self.p99)

    @property
    def graded(self) -> float:
        """What the worst 5 cm² reach, or 0 where the cloth is too coarse to tell."""
        return self.patch if self.is_told else 0.0


@dataclass(frozen=True)
class Stretch:
    """Principal stretches of the cloth's triangles against the base body.

    Attributes:
        l2: Sander's L², root of the area mean of (Γ² + γ²) / 2; 1 when nothing stretches.
        linf: Sander's L∞, the largest principal stretch.
        log_p99: 99th percentile by area of the larger |ln principal stretch|.
        relative_p99: The same beyond both the cloth's own length and the skin's at the feet.
        green_p99: 99th percentile by area of the largest |Green strain|.
        dirichlet: Area mean of σ₁² + σ₂² + σ₁⁻² + σ₂⁻²; 4 when nothing stretches.
    """

    l2: float
    linf: float
    log_p99: float
    relative_p99: float
    green_p99: float
    dirichlet: float


@dataclass(frozen=True)
class ClearanceChange:
    """How much farther from the skin the cloth is than at the base; negative where it has come nearer.

    Attributes:
        p5: 5th percentile by area of clearance minus clearance at the base, metres.
        p50: Median of the same.
        p95: 95th percentile of the same.
        regions: The same three per body region, metres.
    """

    p5: float
    p50: float
    p95: float
    regions: Mapping[str, tuple[float, float, float]]


@dataclass(frozen=True)
class Broken:
    """Cloth that is no longer sound, what the base body already has left out.

    Attributes:
        folded_faces: Triangles turned against the cloth around them.
        crossing_pairs: Pairs of the garment's triangles that cross each other where the body leaves them room.
        cut_area: Area of such triangles that cut at least 1 mm deep, m².
        cut_depth: How deep the deepest pair cuts, metres.
        seam_opening: Widest gap between vertices that coincide at the base, metres.
        hard_bend: Largest departure of a hard part's vertex from its best rigid motion and scale, metres.
        layer_swaps: Vertices of an outer layer that have come under a layer they lay over.
        folded_area: Area of the triangles turned over, m².
        swapped_area: Cloth of outer layers that has come under a layer it lay over, as seen from outside, m².
        pierced_area: Cloth of garments worn under this one that lies outside it, m²; at the base it counts too.
        bent: Turn from where smooth following would have the cloth face: what its worst 50 cm² reach, or 0.7 of
            what a fold of 5 cm² reaches, radians.
    """

    folded_faces: int
    crossing_pairs: int
    seam_opening: float
    hard_bend: float
    layer_swaps: int
    cut_area: float = 0.0
    cut_depth: float = 0.0
    folded_area: float = 0.0
    swapped_area: float = 0.0
    pierced_area: float = 0.0
    bent: float = 0.0


class Place(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One connected place where a fault sits, or a place that a person points at.

    The same record stands in faults, causes, results, cases and on the page, so its figures have the units that people
    read; `height` and `area` give metres and square metres.

    Attributes:
        position_m: Where its vertex is on this shape, metres, +Y up, +Z front.
        vertex: The worst vertex or, where areas or counts add up, the one in the middle: of the body for `exposed`
            and `in_front`, of the cloth for every other fault; −1 where it is not known.
        region: Nearest named region of the body; empty where the body names none.
        part: Nearest part of the garment, or empty.
        side: `front` or `back`, then `left` or `right` (the wearer's own) or `middle`; or empty.
        height_mm: Height of the vertex above the body's lowest point, mm.
        area_cm2: Area of the place, cm².
        fault: Which fault; empty where only a place is meant.
        severity: How bad it is here; empty where nothing was graded.
        value: Worst value in the place, no more than its garment is graded by, or what adds up over it, in `unit`;
            negative where cloth came nearer.
        unit: Unit of `value`; empty for a pure number.
    """

    position_m: Point
    vertex: Index = -1
    region: Word = ""
    part: Word = ""
    side: Word = ""
    height_mm: Number = 0.0
    area_cm2: Amount = 0.0
    fault: FaultName = ""
    severity: Severity = ""
    value: Number = 0.0
    unit: Word = ""

    @property
    def height(self) -> float:
        """Height above the body's lowest point, metres."""
        return self.height_mm / MM_PER_M

    @property
    def area(self) -> float:
        """Area, m²."""
        return self.area_cm2 / CM2_PER_M2


@dataclass(frozen=True)
class ShapeFaults:
    """Every fault of one garment on one shape.

    Attributes:
        weights: The shape, (K,).
        at_base: What is wrong before anything moves; see `AtBase`.
        show_through: See `ShowThrough`.
        pucker: See `Pucker`.
        stretch: See `Stretch`.
        clearance_change: See `ClearanceChange`.
        girth_ease: Per tape level: girth of the cloth minus girth of the body, at the base and on this shape, metres;
            empty at a stance, as a tape is laid at rest.
        broken: See `Broken`.
        places: Where the faults sit of which this shape is not clean, the gravest first.
        severities: Severity of each of `FAULTS`.
        stance: Name of the pose; empty at rest, with every slider that moves joints at 0.
        joints: Values of the sliders that move joints; those at 0 are left out.
    """

    weights: Weights
    at_base: AtBase
    show_through: ShowThrough
    pucker: Pucker
    stretch: Stretch
    clearance_change: ClearanceChange
    girth_ease: Mapping[str, tuple[float, float]]
    broken: Broken
    places: tuple[Place, ...]
    severities: Mapping[str, str]
    stance: str = ""
    joints: Mapping[str, float] = field(default_factory=dict)

    @property
    def severity(self) -> str:
        """The worst of `severities`."""
        return max(self.severities.values(), key=SEVERITIES.index, default=SEVERITIES[0])


@dataclass(frozen=True)
class ShapeFields:
    """Faults of one shape as fields over the meshes, for pictures.

    Attributes:
        body: Body vertices on this shape, (B, 3).
        cloth: Cloth vertices on this shape, (G, 3).
        hidden: Body vertices whose skin the garment hides at the base, (B,).
        layers: By name, each layer of a fault at the vertices of the mesh that it lies on: metres, shares and indices.
    """

    body: BodyPoints
    cloth: ClothPoints
    hidden: Bool[np.ndarray, " B"]
    layers: Mapping[str, Float[np.ndarray, " V"]]
