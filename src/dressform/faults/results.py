"""What a measurement of one shape says: frozen results, metres and shares, no behaviour."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import BodyPoints, ClothPoints, Weights

SEVERITIES = ("clean", "slight", "moderate", "grave")
"""From nothing to see to not wearable; the order is that of increasing severity."""


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
    """

    exposed_area: float
    exposed_share: float
    hidden_area: float
    inside_share: float
    own_inside_share: float
    depth_p95: float
    depth_max: float
    overlap_area: float


@dataclass(frozen=True)
class Pucker:
    """Pucker index over the cloth, percentiles by area, no unit.

    Attributes:
        p50: Median.
        p95: 95th percentile.
        p99: 99th percentile.
        max: Largest value.
    """

    p50: float
    p95: float
    p99: float
    max: float


@dataclass(frozen=True)
class Stretch:
    """Principal stretches of the cloth's triangles against the base body.

    Attributes:
        l2: Sander's L², root of the area mean of (Γ² + γ²) / 2; 1 when nothing stretches.
        linf: Sander's L∞, the largest principal stretch.
        log_p99: 99th percentile by area of the larger |ln principal stretch|.
        relative_p99: The same after dividing by the body's own stretch at the feet.
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
        crossing_pairs: Pairs of the garment's triangles that cross each other.
        seam_opening: Widest gap between vertices that coincide at the base, metres.
        hard_bend: Largest departure of a hard part's vertex from its best rigid motion and scale, metres.
        layer_swaps: Vertices of an outer layer that have come under a layer they lay over.
    """

    folded_faces: int
    crossing_pairs: int
    seam_opening: float
    hard_bend: float
    layer_swaps: int


@dataclass(frozen=True)
class Place:
    """One connected spot where a fault sits.

    Attributes:
        fault: One of `FAULTS`.
        vertex: Vertex that stands for the spot, the worst one or, where areas or counts add up, the one in its middle:
            of the body for `exposed`, of the cloth for every other fault.
        position: Where that vertex is on this shape, metres.
        region: Nearest named region of the body; empty where the body names none.
        part: Nearest part of the garment.
        side: "front", "back", then "left" or "right" (the wearer's own), or "middle".
        height: Height of that vertex above the body's lowest point, metres.
        area: Area of the spot, m².
        value: Worst value in the spot, or what adds up over it, in the unit of its band; negative where cloth came
            nearer (`clearance`).
        severity: One of `SEVERITIES`.
    """

    fault: str
    vertex: int
    position: tuple[float, float, float]
    region: str
    part: str
    side: str
    height: float
    area: float
    value: float
    severity: str


@dataclass(frozen=True)
class ShapeFaults:
    """Every fault of one garment on one shape.

    Attributes:
        weights: The shape, (K,).
        show_through: See `ShowThrough`.
        pucker: See `Pucker`.
        stretch: See `Stretch`.
        clearance_change: See `ClearanceChange`.
        girth_ease: Per tape level: girth of the cloth minus girth of the body, at the base and on this shape, metres.
        broken: See `Broken`.
        places: Where the faults sit of which this shape is not clean, the gravest first.
        severities: Severity of each of `FAULTS`.
    """

    weights: Weights
    show_through: ShowThrough
    pucker: Pucker
    stretch: Stretch
    clearance_change: ClearanceChange
    girth_ease: Mapping[str, tuple[float, float]]
    broken: Broken
    places: tuple[Place, ...]
    severities: Mapping[str, str]

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
