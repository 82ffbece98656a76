"""From figures to findings: which faults of a morph reach a band, by how much, and where."""

from collections.abc import Mapping

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import VertexScalars
from dressform.audit.extremities import OWN_MOTION
from dressform.audit.mirror import Symmetry
from dressform.audit.moved import MorphAtWeight
from dressform.audit.prepared import PreparedBody
from dressform.audit.results import Finding, Spot
from dressform.audit.rough import Roughness
from dressform.audit.stray import islands, stray_moves
from dressform.audit.tangle import Tangle, meets_across, sound_share
from dressform.faults.results import SEVERITIES
from dressform.faults.rim_step import RigidPatch, RigidPatches

TANGLES = ("crossing", "folded")
HALF = 0.5  # of the largest value: the part of a wide, soft finding that its spots show


def rigid_patches(base: PreparedBody, shift: RigidPatches, weight: float) -> Finding | None:
    """Patches that move as stiff pieces; their worst step decides."""
    ranked = sorted(shift.rigid_patches, key=lambda rigid_patch: -rigid_patch.step)
    if not ranked:
        return None
    worst = ranked[0]
    figures = {
        "area": sum(rigid_patch.area for rigid_patch in ranked),
        "share": shift.share,
        "step": worst.step,
        "spacing": worst.spacing,
        "jump": worst.jump,
        "inside": worst.inside,
        "outside": worst.outside,
        "strain": worst.strain,
    }
    return _finding(
        base,
        "rigid_patch",
        worst.step,
        weight,
        tuple(_patch_spot(base, rigid_patch) for rigid_patch in ranked),
        figures,
    )


def patch_rims(base: PreparedBody, shift: RigidPatches) -> Bool[np.ndarray, " B"]:
    """Vertices on either side of the rims of rigid patches, (B,)."""
    rims = np.zeros(len(base.skin.vertices), dtype=bool)
    for rigid_patch in shift.rigid_patches:
        inside = np.zeros(len(rims), dtype=bool)
        inside[rigid_patch.vertices] = True
        rims |= (inside & (base.skin.around @ ~inside > 0)) | (~inside & (base.skin.around @ inside > 0))
    return rims


def strays(base: PreparedBody, moved: MorphAtWeight, weight: float) -> tuple[Finding | None, Bool[np.ndarray, " B"]]:
    """Single vertices that depart from their neighbours."""
    values = stray_moves(base.skin, moved.deltas)
    marked = values >= base.bands.stray[0]
    return _marked(base, "stray", float(values.max(initial=0.0)), weight, marked, values), marked


def stray_islands(
    base: PreparedBody, moved: MorphAtWeight, weight: float, alone: Bool[np.ndarray, " B"]
) -> tuple[Finding | None, Bool[np.ndarray, " B"]]:
    """Small spots that move, far from everything else that moves."""
    marked = islands(base.skin, moved, alone)
    return _marked(
        base, "islands", float(moved.lengths[marked].max(initial=0.0)), weight, marked, moved.lengths
    ), marked


def left_behind(base: PreparedBody, moved: MorphAtWeight, weight: float) -> Finding | None:
    """Separate pieces that do not move with the skin beside them."""
    lags = [(members, lag) for members, lag in base.loose.lags(base.skin, moved) if lag >= base.bands.behind[0]]
    if not lags:
        return None
    spots = tuple(base.skin.spot(members, int(members[0])) for members, _ in lags)
    return _finding(base, "behind", lags[0][1], weight, spots, {})


def rough_skin(base: PreparedBody, found: Roughness, weight: float) -> Finding | None:
    """Skin that puckers."""
    marked = found.index >= max(base.bands.rough[0], HALF * float(found.index.max(initial=0.0)))
    figures = {"largest": float(found.index.max(initial=0.0))}
    return _marked(base, "rough", found.p99, weight, marked, found.index, figures)


def extremities(base: PreparedBody, moved: MorphAtWeight, weight: float) -> Finding | None:
    """Tips that move unlike the limb they sit on."""
    own = base.extremities.own_motion(base.skin, moved.deltas)
    marked = base.extremities.tips & (own > OWN_MOTION) & moved.touched
    figures = {
        "own_motion": float(own[marked].max(initial=0.0)),
        "farthest": float(moved.lengths[marked].max(initial=0.0)),
    }
    return _marked(base, "extremity", float(base.skin.areas[marked].sum()), weight, marked, own, figures)


def lopsided(base: PreparedBody, found: Symmetry, weight: float, partner: str) -> Finding | None:
    """Left and right that differ, or two morphs that should be mirror images."""
    most = float(found.difference.max(initial=0.0))
    marked = found.difference > HALF * most
    figures = {"most": most, "asymmetry": found.asymmetry}
    return _marked(base, "lopsided", found.p95, weight, marked, found.difference, figures, partner=partner)


def tangle(
    base: PreparedBody,
    fault: str,
    new: Tangle,
    weight: float,
    deltas: Float[np.ndarray, "B 3"],
    known: tuple[Tangle, ...],
    *,
    partner: str = "",
) -> Finding | None:
    """Triangles turned over (`folded`), or skin that passes through the same or another part (`crossing`).

    Args:
        base: The body.
        fault: One of `TANGLES`.
        new: The tangle at `deltas` that is not in `known`.
        weight: Weight of the morph there.
        deltas: The displacement, (B, 3), metres.
        known: Tangles that do not count against it.
        partner: The other morph of a pair.
    """
    count = new.count(fault)
    if not count:
        return None
    triangles = base.skin.faces[new.folded if fault == "folded" else new.crossing.ravel()]
    values = np.bincount(triangles.ravel(), minlength=len(base.skin.vertices)).astype(np.float64)
    spots = base.skin.spots(values > 0, values)
    figures = {"sound_share": sound_share(base.tree, deltas, fault, known)}
    if fault == "crossing":
        touching = new.crossing[np.isin(base.skin.faces[new.crossing], spots[0].vertices).any(axis=(1, 2))]
        pair = touching[len(touching) // 2]
        figures["across"] = float(meets_across(base.skin, pair))
        spots = _counterpart_second(base, spots, pair) if figures["across"] else spots
    return _finding(base, fault, float(count), weight, spots, figures, partner=partner)


def ranked(findings: list[Finding | None]) -> tuple[Finding, ...]:
    """The gravest first; among equals in the order given."""
    found = [one for one in findings if one is not None]
    return tuple(sorted(found, key=lambda one: -SEVERITIES.index(one.severity)))


def _counterpart_second(base: PreparedBody, spots: tuple[Spot, ...], pair: Int[np.ndarray, "2"]) -> tuple[Spot, ...]:
    """The spots, with the one on the other part of the body moved to second place."""
    ends = base.skin.faces[pair].ravel()
    met = [index for index, spot in enumerate(spots) if index and np.isin(ends, spot.vertices).any()][:1]
    return tuple(spots[index] for index in [0, *met, *(i for i in range(1, len(spots)) if i not in met)])


def _patch_spot(base: PreparedBody, rigid_patch: RigidPatch) -> Spot:
    """The spot of a rigid patch, located at the vertex in its middle."""
    places = base.skin.vertices[rigid_patch.vertices]
    middle = int(rigid_patch.vertices[np.argmin(np.linalg.norm(places - places.mean(axis=0), axis=1))])
    return base.skin.spot(rigid_patch.vertices, middle)


def _marked(
    base: PreparedBody,
    fault: str,
    value: float,
    weight: float,
    marked: Bool[np.ndarray, " B"],
    values: VertexScalars,
    figures: Mapping[str, float] | None = None,
    *,
    partner: str = "",
) -> Finding | None:
    """A finding whose spots are the connected pieces of the marked vertices."""
    if not marked.any():
        return None
    spots = base.skin.spots(marked, values)
    return _finding(base, fault, value, weight, spots, figures or {}, partner=partner)


def _finding(
    base: PreparedBody,
    fault: str,
    value: float,
    weight: float,
    spots: tuple[Spot, ...],
    figures: Mapping[str, float],
    *,
    partner: str = "",
) -> Finding | None:
    """The finding, or None where the value is clean."""
    severity = base.bands.grade(fault, value)
    if severity == SEVERITIES[0]:
        return None
    return Finding(fault, severity, value, weight, spots, partner, figures)
