"""Advice for the maker of a garment or body about one cluster: where, what, and which repair does it."""

import math
from collections.abc import Callable, Mapping

from dressform.causes.advice_words import cost_words, counted, length, percent, place_words, quoted, shape_words
from dressform.causes.edges_needed import longest_edge, loops_to_add, pieces_of
from dressform.causes.evidence import figures_of
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    CAUSES,
    RIGID_PATCH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Advice,
    Cluster,
)
from dressform.errors import ArgumentError
from dressform.repair.blend_rims import SLOPE
from dressform.repair.resolution import MIN_ROOM
from dressform.repair.whole_pieces import MIN_FOOTPRINT
from dressform.units import CM_PER_M

Evidence = Mapping[str, float]
MAX_WEIGHTS = 4  # most morphs named of an inferred shape, the largest first
MIN_WEIGHT = 0.05  # a smaller weight of an inferred shape is left out


def advise(cause: str, cluster: Cluster, evidence: Evidence, *, line: str = "") -> Advice:
    """Word the advice for one cause at one cluster; the same evidence always gives the same words.

    Args:
        cause: One of `CAUSES`.
        cluster: Where and what.
        evidence: Figures by the names of `EVIDENCE`; missing figures are left out.
        line: Distance from a tape line, as `TapeLines.near` words it.

    Raises:
        ArgumentError: there is no such cause.
    """
    if cause not in _WORDS:
        raise ArgumentError.of("advise", "cause", f"one of {', '.join(CAUSES)}", repr(cause), "Use one of these")
    what, repair = _WORDS[cause](cluster, evidence)
    return Advice(place_words(cluster.worst.place, line), what, repair)


def _too_few(cluster: Cluster, evidence: Evidence) -> tuple[str, str]:
    """Edges that are too long for the bend under them."""
    repair = "`refine` splits these triangles instead" + cost_words(
        evidence, "it adds vertices and moves none that exist"
    )
    edge, radius = evidence.get("edge_length"), evidence.get("bend_radius")
    if edge is None or radius is None:
        return "the triangles are too large for the bend of the body under them: split them", repair
    margin = evidence.get("margin", 0.0)
    room = evidence.get("clearance", 0.0) - margin
    longest = longest_edge(max(room, MIN_ROOM), radius, max(radius, evidence.get("bend_radius_across", radius)))
    seen = shape_words(cluster)
    what = f"edge length here is {length(edge)}; the body under it has a radius of {length(radius)} {seen}; "
    what += f"at most {length(longest, down=True)} keeps {length(margin)} of room"
    what += _split(evidence, edge, longest)
    if room < MIN_ROOM:
        what += f"; bring the edges' ends {length(MIN_ROOM - room)} farther out as well"
    return what, repair


def _split(evidence: Evidence, edge: float, longest: float) -> str:
    """How to shorten edges that are too long: loops over a height, or columns round."""
    low, high = evidence.get("height_low"), evidence.get("height_high")
    if edge <= longest:
        return ": split the triangles there once"
    if low is None or high is None or evidence.get("bend_upright", 1.0) < 0.5:
        return f": cut each edge that runs along the bend into {counted(pieces_of(edge, longest), 'piece')}"
    loops = loops_to_add(high - low, edge, longest)
    return f": add {counted(loops, 'edge loop')} between {low * CM_PER_M:.0f} cm and {high * CM_PER_M:.0f} cm"


def _rigid_patches(cluster: Cluster, evidence: Evidence) -> tuple[str, str]:
    """Steps of the body's own morphs."""
    steps = figures_of(evidence, "rim_step")
    repair = "`blend-rims` smooths the morph for this garment only" + cost_words(evidence, "the cloth bridges the rim")
    if not steps:
        return "a morph of the body shifts a patch of skin as one stiff piece: blend its rim in the body file", repair
    name, step = max(steps.items(), key=lambda pair: pair[::-1])
    what = f"the body's morph `{name}` shifts a patch of skin as one stiff piece: its rim is a step of {length(step)}"
    strain = figures_of(evidence, "patch_strain").get(name)
    if strain is not None:
        what += f", while edges inside it lengthen by {percent(strain)} only"
    what += f"; blend that rim over {length(step / SLOPE)} or more in the body file"
    return what, repair


def _ambiguous(cluster: Cluster, evidence: Evidence) -> tuple[str, str]:
    """Cloth between two skins."""
    part = cluster.worst.place.part
    first, second = evidence.get("foot_distance"), evidence.get("other_foot_distance")
    what = "two body parts are about equally near"
    if first is not None and second is not None:
        what += f", {length(first)} and {length(second)} away"
    if "feet_apart" in evidence:
        what += f", which lie {length(evidence['feet_apart'])} apart along the body"
    if "feet_part" in evidence:
        what += f" and move {length(evidence['feet_part'])} apart {shape_words(cluster)}"
    what += ": model it clearly nearer to the one that it belongs to, or make it a part of its own"
    weaken = f"`--strength {quoted(f'{part}=0.5')}`" if part else "`--strength`"
    return what, f"{weaken} makes it follow half as strongly" + cost_words(evidence, "it then keeps less of its ease")


def _beyond(cluster: Cluster, evidence: Evidence) -> tuple[str, str]:
    """Much cloth on little skin, or cloth on a finger or toe that moves by itself."""
    footprint, width = evidence.get("footprint"), evidence.get("limb_width")
    repair = "`whole` makes it one piece with the limb" + cost_words(evidence, "its passage into the other cloth bends")
    if footprint is not None and footprint >= MIN_FOOTPRINT and width is not None:
        what = f"the limb under this cloth is {length(width)} wide where it is thinnest, and goes a way of its own"
        return f"{what} {shape_words(cluster)}; let the cloth on it follow as one piece", repair
    what = "much cloth stands on little skin past the end of the limb"
    if footprint is not None:
        what += (
            f": {footprint:.2f} cm² of skin under 1 cm² of cloth, where {MIN_FOOTPRINT:g} is the least that leads it"
        )
    if "tip_radius" in evidence:
        nearest = evidence["tip_radius"] * (MIN_FOOTPRINT**-0.5 - 1.0)
        what += f"; keep it within {length(nearest, down=True)} of the skin or let it follow the limb as one piece"
    else:
        what += "; let it follow the limb as one piece"
    return what, repair


def _should_not_follow(cluster: Cluster, evidence: Evidence) -> tuple[str, str]:
    """Stiff parts, and cloth that hangs."""
    part = cluster.worst.place.part
    if "far_clearance" in evidence:
        what = f"the cloth hangs {length(evidence['far_clearance'])} off the skin, too far to be led by it"
        what += ": fade its strength to nothing there"
        off = f"`--off {quoted(part)}` with `--falloff`" if part else "a strength mask (`--mask`)"
        return what, f"{off} leaves it where it was modelled" + cost_words(
            evidence, "it no longer makes way for the body"
        )
    ways = figures_of(evidence, "hard_way")
    stiff = max(ways, key=lambda name: (ways[name], name)) if ways else part
    what = f"part `{stiff}` is stiff" if stiff else "this piece is stiff"
    what += ", but the cloth's way turns, shifts and bends it like cloth"
    if stiff in ways:
        what += f", up to {length(ways[stiff])} off its seat {shape_words(cluster)}"
    what += ": keep it a closed piece that shares no vertices with cloth, so that it can be moved unbent"
    return what, "`hard` moves it unbent with its seat" + cost_words(evidence, "a turn makes it a little larger")


def _too_tight(cluster: Cluster, evidence: Evidence) -> tuple[str, str]:
    """Clearance that is missing at the base already."""
    margin = evidence.get("margin")
    what = "the garment has too little room as it was modelled"
    if "clearance_base" in evidence and margin is not None:
        off = evidence["clearance_base"]
        side = "off the skin" if off >= 0.0 else "inside the skin"
        what += f": {length(abs(off))} {side} at the base, {length(margin)} should remain"
    missing = evidence.get("missing_clearance")
    if missing is not None:
        what += f"; let it out by {length(missing)}, which all round is {length(2.0 * math.pi * missing)} of girth"
    else:
        what += "; let it out"
    return what, "`clearance` pushes it out over the whole range" + cost_words(evidence, "it changes the garment's cut")


def _another_shape(cluster: Cluster, evidence: Evidence) -> tuple[str, str]:
    """The shape that was under the garment when it was made."""
    repair = "`rebase` carries it to the base body" + cost_words(evidence, "it moves by the way between both shapes")
    bases, weights = figures_of(evidence, "base"), figures_of(evidence, "weight")
    told = sorted(((name, weight) for name, weight in weights.items() if abs(weight) >= MIN_WEIGHT), key=_largest)
    if "oversize" in evidence and not (bases or told):
        extra = evidence["oversize"]
        what = f"the garment was cut for a wider wearer: {length(extra)} farther off the skin than its kind is worn"
        return (
            f"{what}, {length(2.0 * math.pi * extra)} of girth; take it in",
            "`set_ease` takes it in at the tape lines"
            + (cost_words(evidence, "it changes the garment's cut on purpose")),
        )
    if bases:
        made_on = f"the base body `{max(bases, key=lambda name: (bases[name], name))}`"
    elif told:
        made_on = "the shape " + " ".join(f"{name}={weight:.2g}" for name, weight in told[:MAX_WEIGHTS])
    else:
        made_on = "another shape"
    what = f"the garment was modelled on {made_on}, not on this base body"
    if "shape_distance" in evidence:
        what += f", which lies {length(evidence['shape_distance'])} away under it"
    if "clearance_there" in evidence and "clearance_base" in evidence:
        there, here = length(evidence["clearance_there"]), length(evidence["clearance_base"])
        what += f" (room there {there}, here {here})"
    return f"{what}: model it on this base body, or say which shape it was made on", repair


def _largest(pair: tuple[str, float]) -> tuple[float, str]:
    return (-abs(pair[1]), pair[0])


_WORDS: Mapping[str, Callable[[Cluster, Evidence], tuple[str, str]]] = {
    ANOTHER_SHAPE: _another_shape,
    TOO_FEW_VERTICES: _too_few,
    RIGID_PATCH: _rigid_patches,
    AMBIGUOUS_FOOT: _ambiguous,
    BEYOND_EXTREMITY: _beyond,
    SHOULD_NOT_FOLLOW: _should_not_follow,
    TOO_TIGHT: _too_tight,
}
