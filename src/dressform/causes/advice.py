"""What was found about one cluster and where it is, in words; what to do about it is said by its action."""

import math
from collections.abc import Callable, Mapping

from dressform.causes.advice_words import length, percent, place_words, shape_words
from dressform.causes.evidence import figures_of
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    CAUSES,
    JOINT_WEIGHTS,
    LAYER_BELOW,
    METHOD,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Advice,
    Cluster,
)
from dressform.errors import ArgumentError
from dressform.garment.following import LIFTED, NEAREST_PART, ONE_JOINT, OWN, SMOOTHED
from dressform.repair.whole.whole_pieces import MIN_FOOTPRINT

Evidence = Mapping[str, float]
KIND_WORDS: Mapping[str, str] = {
    OWN: "the weights of its own file",
    LIFTED: "weights lifted from the body",
    SMOOTHED: "weights smoothed along the cloth",
    NEAREST_PART: "weights of the nearest part of the body",
    ONE_JOINT: "one joint for each stiff part",
}
MAX_WEIGHTS = 4  # most morphs named of an inferred shape, the largest first
MIN_WEIGHT = 0.05  # a smaller weight of an inferred shape is left out


def advise(cause: str, cluster: Cluster, evidence: Evidence, *, line: str = "") -> Advice:
    """Word what was found about one cluster; the same evidence always gives the same words.

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
    return Advice(place_words(cluster.worst.place, line), _WORDS[cause](cluster, evidence), "")


def _too_few(cluster: Cluster, evidence: Evidence) -> str:
    """Edges that are too long for the bend under them."""
    edge, radius = evidence.get("edge_length"), evidence.get("bend_radius")
    if edge is None or radius is None:
        return "the triangles are too large for the bend of the body under them"
    what = f"edges here are up to {length(edge)} long as modelled; the body under them has a radius of {length(radius)}"
    return f"{what} {shape_words(cluster)} and comes through the triangles between their corners"


def _rigid_patches(cluster: Cluster, evidence: Evidence) -> str:
    """Steps of the body's own morphs."""
    steps = figures_of(evidence, "rim_step")
    if not steps:
        return "a morph of the body shifts a patch of skin as one stiff piece"
    name, step = max(steps.items(), key=lambda pair: pair[::-1])
    what = f"the body's morph `{name}` shifts a patch of skin as one stiff piece: its rim is a step of {length(step)}"
    strain = figures_of(evidence, "patch_strain").get(name)
    return what if strain is None else f"{what}, while edges inside it lengthen by {percent(strain)} only"


def _ambiguous(cluster: Cluster, evidence: Evidence) -> str:
    """Cloth between two skins."""
    first, second = evidence.get("foot_distance"), evidence.get("other_foot_distance")
    what = "two body parts are about equally near"
    if first is not None and second is not None:
        what += f", {length(first)} and {length(second)} away"
    if "feet_apart" in evidence:
        what += f", which lie {length(evidence['feet_apart'])} apart along the body"
    if "feet_part" in evidence:
        what += f" and move {length(evidence['feet_part'])} apart {shape_words(cluster)}"
    return what


def _beyond(cluster: Cluster, evidence: Evidence) -> str:
    """Much cloth on little skin, or cloth on a finger or toe that moves by itself."""
    footprint, width = evidence.get("footprint"), evidence.get("limb_width")
    if footprint is not None and footprint >= MIN_FOOTPRINT and width is not None:
        what = f"the limb under this cloth is {length(width)} wide where it is thinnest, and goes a way of its own"
        return f"{what} {shape_words(cluster)}"
    what = "much cloth stands on little skin past the end of the limb"
    if footprint is not None:
        what += (
            f": {footprint:.2f} cm² of skin under 1 cm² of cloth, where {MIN_FOOTPRINT:g} is the least that leads it"
        )
    return what


def _should_not_follow(cluster: Cluster, evidence: Evidence) -> str:
    """Stiff parts, and cloth that hangs."""
    part = cluster.worst.place.part
    if "far_clearance" in evidence:
        return f"the cloth hangs {length(evidence['far_clearance'])} off the skin, too far to be led by it"
    ways = figures_of(evidence, "hard_way")
    stiff = max(ways, key=lambda name: (ways[name], name)) if ways else part
    what = f"part `{stiff}` is stiff" if stiff else "this piece is stiff"
    what += ", but the cloth's way turns, shifts and bends it like cloth"
    return f"{what}, up to {length(ways[stiff])} off its seat {shape_words(cluster)}" if stiff in ways else what


def _too_tight(cluster: Cluster, evidence: Evidence) -> str:
    """Clearance that is missing at the base already."""
    margin, what = evidence.get("margin"), "the garment has too little room as it was modelled"
    if "clearance_base" in evidence and margin is not None:
        off = evidence["clearance_base"]
        side = "off the skin" if off >= 0.0 else "inside the skin"
        what += f": {length(abs(off))} {side} at the base, {length(margin)} should remain"
    missing = evidence.get("missing_clearance")
    if missing is not None:
        what += f"; {length(missing)} are missing, all round {length(2.0 * math.pi * missing)} of girth"
    return what


def _another_shape(cluster: Cluster, evidence: Evidence) -> str:
    """The shape that was under the garment when it was made."""
    bases, weights = figures_of(evidence, "base"), figures_of(evidence, "weight")
    told = sorted(((name, weight) for name, weight in weights.items() if abs(weight) >= MIN_WEIGHT), key=_largest)
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
    return what


def _rough(cluster: Cluster, evidence: Evidence) -> str:
    """Noise in the body's own morphs."""
    noise = figures_of(evidence, "morph_noise")
    if not noise:
        return "a morph of the body is rough from vertex to vertex there"
    name, level = max(noise.items(), key=lambda pair: pair[::-1])
    return f"the body's morph `{name}` is rough there: it shifts vertices by {length(level)} against their neighbours"


def _method(cluster: Cluster, evidence: Evidence) -> str:
    """The way in which the cloth follows."""
    return f"the way in which the cloth follows does this {shape_words(cluster)}; the method `smooth` does not"


def _layer_below(cluster: Cluster, evidence: Evidence) -> str:
    """What is worn under the garment."""
    return f"what is worn under it comes through {shape_words(cluster)}, and would not if it were not worn"


def _joint_weights(cluster: Cluster, evidence: Evidence) -> str:
    """Joints that carry the cloth, those of the skin under it, and what other weights remove."""
    cloth, skin = figures_of(evidence, "cloth_joint"), figures_of(evidence, "skin_joint")
    what = "the cloth's joint weights there differ from those of the skin under it"
    if cloth:
        joint = max(cloth, key=lambda name: (cloth[name] - skin.get(name, 0.0), name))
        what = f"the cloth's joint weights give up to {percent(cloth[joint])} to `{joint}`, "
        what += f"where the skin under it has {percent(skin.get(joint, 0.0))}"
    if "joints_part" in evidence:
        what += f", and carry it {length(evidence['joints_part'])} away {shape_words(cluster)}"
    removed = figures_of(evidence, "joints_remove")
    for kind, share in removed.items():
        what += f"; {KIND_WORDS[kind]} {'remove' if kind != ONE_JOINT else 'removes'} {percent(share)} of it"
    return what


def _largest(pair: tuple[str, float]) -> tuple[float, str]:
    return (-abs(pair[1]), pair[0])


_WORDS: Mapping[str, Callable[[Cluster, Evidence], str]] = {
    ANOTHER_SHAPE: _another_shape,
    TOO_FEW_VERTICES: _too_few,
    RIGID_PATCH: _rigid_patches,
    AMBIGUOUS_FOOT: _ambiguous,
    BEYOND_EXTREMITY: _beyond,
    SHOULD_NOT_FOLLOW: _should_not_follow,
    TOO_TIGHT: _too_tight,
    ROUGH_MORPH: _rough,
    METHOD: _method,
    LAYER_BELOW: _layer_below,
    JOINT_WEIGHTS: _joint_weights,
}
