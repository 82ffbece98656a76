"""What a remedy makes graver, on one shape and at the base; and what only seems graver, as a check begins anew."""

import numpy as np

from dressform.causes.explained_garment import ExplainedGarment
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.crossing import CROSSING
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.inside import INSIDE
from dressform.faults.results import SEVERITIES, ShapeFaults
from dressform.faults.self_crossing import SEEN_DEPTH, cut_depths
from dressform.faults.severity import graded_values
from dressform.mesh.geometry import face_areas

GROWS = 1.1
"""A fault is graver where it is graded worse and has grown by more than this factor,"""
GROWS_FAULTY = 1.5
"""or by more than this one where it was faulty already."""
MORE_INSIDE = 0.002
"""Share of the cloth by which more of it may lie in the body at the base."""
LESS = 0.5
"""Where no more than this share of what was in the skin as modelled is left, a shape may show what is left of it."""


def graver(before: ShapeFaults, after: ShapeFaults) -> dict[str, tuple[float, float]]:
    """Faults of the whole garment that are graver than before on one shape: before and after."""
    found, was = {}, graded_values(before)
    for fault, value in graded_values(after).items():
        old = SEVERITIES.index(before.severities[fault])
        worse = SEVERITIES.index(after.severities[fault]) > old and value > GROWS * was[fault]
        if worse or (old >= SEVERITIES.index("moderate") and value > GROWS_FAULTY * was[fault]):
            found[fault] = was[fault], value
    inside = before.show_through.own_inside_share, after.show_through.own_inside_share
    if inside[1] > inside[0] + MORE_INSIDE:
        found[INSIDE.key] = inside
    return found


def out_of_the_skin(before: ShapeFaults, after: ShapeFaults, sunk: float) -> dict[str, tuple[float, float]]:
    """What a shape shows instead of cloth that was in the skin as modelled, if that is half or less: before and after.

    A check counts no skin as showing that was in front of the cloth at the base, and no cloth as come into the skin
    that was in it there. So cloth that is brought out of the skin may only get worse by the check. Here both count.

    Args:
        before, after: The faults of the shape.
        sunk: How deep the cloth lay in the skin as modelled, metres.
    """
    was, is_now = before.show_through, after.show_through
    found: dict[str, tuple[float, float]] = {}
    skin = was.exposed_area + before.at_base.skin_area, is_now.exposed_area + after.at_base.skin_area
    if is_now.exposed_area > was.exposed_area and skin[1] <= LESS * skin[0]:
        found[EXPOSED.key] = skin
    cloth = was.inside_share + was.own_inside_share, is_now.inside_share + is_now.own_inside_share
    if is_now.inside_share > was.inside_share and cloth[1] <= LESS * cloth[0]:
        found[INSIDE.key] = cloth
        if was.depth_max < is_now.depth_max <= sunk:
            found[DEPTH.key] = sunk, is_now.depth_max
    return found


def sunk_as_modelled(worn: ExplainedGarment) -> float:
    """How deep its cloth lies in the skin at the base, metres."""
    return max(-float(worn.start_sides.signed.min(initial=0.0)), 0.0)


def more_crossings(old: ExplainedGarment, new: GarmentOnBody) -> dict[str, tuple[float, float]]:
    """More cloth that cuts through itself at the base, m², which a check leaves out as the garment's own."""
    was, is_now = (_cut_at_base(worn) for worn in (old, new))
    more = is_now > max(GROWS * was, was + old.bands[CROSSING.key][0])
    return {CROSSING.key: (was, is_now)} if more else {}


def _cut_at_base(worn: GarmentOnBody) -> float:
    """Area of the triangles that cut through the garment at the base deep enough to be seen, m²."""
    vertices, faces = worn.fit.base, worn.fit.garment.faces
    pairs = np.column_stack(np.divmod(worn.own_crossings, len(faces)))
    deep = pairs[cut_depths(vertices, faces, pairs) >= SEEN_DEPTH] if len(pairs) else pairs
    return float(face_areas(vertices, faces[np.unique(deep)]).sum())
