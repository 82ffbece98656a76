"""The figures that an explanation rests on: their names, units and wording.

A name may end in `/NAME`, where NAME is a morph, a base body or a part: `rim_step/belly`. Lengths are metres,
areas m². Advice leaves out figures that are missing.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from dressform.errors import ArgumentError

METRES, HEIGHT, SQUARE_METRES, COUNT, SHARE, RATIO = "m", "height", "m2", "count", "share", "ratio"
"""Units: a height is told in centimetres, any other length in millimetres, a share in per cent, a ratio as it is."""

OF = "/"
"""Between the name of a figure and the name of what it is a figure of."""


@dataclass(frozen=True)
class Figure:
    """The meaning of one name of evidence.

    Attributes:
        unit: One of the units above.
        words: Its wording for readers.
    """

    unit: str
    words: str


EVIDENCE: Mapping[str, Figure] = {
    # Of every cause.
    "clearance": Figure(METRES, "least clearance of the cloth there on its worst shape"),
    "clearance_base": Figure(METRES, "least clearance of the cloth there at the base"),
    "margin": Figure(METRES, "clearance that should remain"),
    "height_low": Figure(HEIGHT, "lowest point of the place above the ground"),
    "height_high": Figure(HEIGHT, "highest point of the place above the ground"),
    "repair_move": Figure(METRES, "farthest that the repair moves cloth"),
    "repair_pucker": Figure(RATIO, "pucker after the repair over pucker before"),
    "repair_vertices": Figure(COUNT, "vertices that the repair adds"),
    # Too few vertices where the body bends.
    "edge_length": Figure(METRES, "longest edge of these triangles, as modelled"),
    "bend_radius": Figure(METRES, "smallest radius of curvature of the body under it"),
    "bend_radius_across": Figure(METRES, "radius of curvature of the body across that"),
    "bend_upright": Figure(SHARE, "how far the body's sharpest bend runs up and down rather than round"),
    "resolution": Figure(RATIO, "resolution index: above 1 the body bends through a triangle"),
    "triangles_failing": Figure(COUNT, "triangles of this place that are too large for the bend"),
    # The body's morph moves a rigid patch; each ends in the name of the morph.
    "rim_step": Figure(METRES, "step of the morph at the rim of the rigid patch, at weight 1"),
    "patch_strain": Figure(SHARE, "how far edges inside the rigid patch lengthen"),
    "patch_area": Figure(SQUARE_METRES, "area of the rigid patches"),
    "plate_weight": Figure(RATIO, "weight of the morph on the worst shape"),
    # Ambiguous foot.
    "foot_distance": Figure(METRES, "from the cloth to the skin that it follows"),
    "other_foot_distance": Figure(METRES, "from the cloth to the other skin that is as near"),
    "feet_apart": Figure(METRES, "way along the skin between the two"),
    "feet_part": Figure(METRES, "how far the two move apart on the worst shape"),
    # Beyond an extremity.
    "footprint": Figure(RATIO, "skin under a unit of cloth"),
    "limb_width": Figure(METRES, "width of the thinnest part of the body under the cloth"),
    "tip_radius": Figure(METRES, "radius of curvature of the skin at the foot"),
    # Should not follow; the name ends in the name of the part.
    "hard_way": Figure(METRES, "farthest that a stiff part is led from the way of the cloth under it"),
    "hard_bend": Figure(METRES, "farthest that a stiff part departs from its own form"),
    "far_clearance": Figure(METRES, "distance of the cloth from the skin that it follows"),
    # Too tight by design.
    "missing_clearance": Figure(METRES, "how far the cloth must come out for the fault to go"),
    "room_around": Figure(METRES, "clearance that the cloth then has, as the cloth around it has"),
    # Joint weights; the first two end in the name of a joint.
    "cloth_joint": Figure(SHARE, "share of the joint in the cloth's weights, where they are worst"),
    "skin_joint": Figure(SHARE, "share of the joint in the weights of the skin under it"),
    "joints_part": Figure(METRES, "how far the two carry the cloth apart at the stance"),
    "joints_remove": Figure(SHARE, "part of the fault that other joint weights remove, by their kind"),
    # A rough morph; the name ends in that of the morph.
    "morph_noise": Figure(METRES, "how far neighbouring vertices of the body part by the morph at weight 1"),
    # Modelled on another shape; the weights end in the name of the morph, `base` in that of the base body.
    "weight": Figure(RATIO, "weight of the morph on the shape that it was modelled on"),
    "base": Figure(RATIO, "1 where it was modelled on that base body"),
    "shape_distance": Figure(METRES, "how far that shape lies from the base body under the cloth"),
    "clearance_there": Figure(METRES, "usual clearance of the garment on the shape that it was modelled on"),
    "oversize": Figure(METRES, "clearance beyond what its kind of garment has"),
}
"""Every name of evidence, without what it is a figure of."""


def figure_of(name: str) -> tuple[Figure, str]:
    """The meaning of a name of evidence, and the NAME after its `/`, empty if there is none.

    Raises:
        ArgumentError: no evidence has that name; the valid names are listed.
    """
    stem, _, of = name.partition(OF)
    if stem not in EVIDENCE:
        raise ArgumentError.of("figure_of", "name", f"one of {', '.join(EVIDENCE)}", repr(name), "Use one of these")
    return EVIDENCE[stem], of


def figures_of(evidence: Mapping[str, float], stem: str) -> dict[str, float]:
    """Every figure of that name, by the NAME after its `/`."""
    start = stem + OF
    return {name.removeprefix(start): value for name, value in evidence.items() if name.startswith(start)}
