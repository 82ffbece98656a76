"""Which pieces of cloth follow as a whole, and which part of the body each of them follows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from dressform.arrays import VertexScalars
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.garment.along import distance_along
from dressform.garment.garment import Garment
from dressform.garment.parts import seam_pairs
from dressform.lift.feet import Feet, find_feet
from dressform.lift.rows import foot_rows
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.topology import edges
from dressform.mesh.tree import Tree
from dressform.repair.whole.body_parts import body_part
from dressform.repair.whole.footprint import curvature_tensors, footprints, growth_factors
from dressform.repair.whole.moving_ends import MovingEnd, find_moving_ends
from dressform.repair.whole.rigid import Turned, fit_turned

MIN_FOOTPRINT = 0.2  # cloth that stands on less skin than this share of its own area lies beyond an extremity
BOTH_WAYS = 2.0  # skin there grows at least by this in both directions: round a limb it grows in one
BLEND = 0.03  # metres along the cloth over which whole-part following passes into the ordinary lift
REACH = 0.05  # metres along the skin from the feet that belong to the part of the body, at least,
CLEARANCE_REACH = 2.0  # and at least so many times the clearance
END_REACH = 0.015  # metres of skin round the feet on a finger or toe: its hinge may be near


@dataclass(frozen=True)
class FollowingPiece:
    """Cloth that follows a part of the body as a whole.

    Attributes:
        part_names: The garment's parts that it belongs to.
        core: Vertices that follow fully, (G,).
        share: 1 there, falling to 0 along the cloth around it, (G,).
        asked: Whether it belongs to a named part.
        footprint: Smallest footprint in the core.
        skin: How much each body vertex counts, (B,).
        motion: How it moves as a whole: what is nearest to how that skin moves.
        morphs: On which morphs it does so, (K,); on the others it follows like all cloth.
        moving: Whether it is a finger or toe that moves apart from its limb.
    """

    part_names: tuple[str, ...]
    core: Bool[np.ndarray, " G"]
    share: Float[np.ndarray, " G"]
    asked: bool
    footprint: float
    skin: Float[np.ndarray, " B"]
    motion: Turned
    morphs: Bool[np.ndarray, " K"]
    moving: bool


def find_whole_pieces(
    body: Body,
    garment: Garment,
    *,
    named: Mapping[str, str],
    detect: bool,
    min_footprint: float,
    blend: float,
    tree: Tree,
) -> list[FollowingPiece]:
    """The pieces of the named parts and those beyond an extremity, by their lowest vertex; then ends that move.

    The passage is as wide as `blend`, or as the median clearance of all pieces where that is more. Arguments and
    errors are those of `follow_whole`; `named` gives for each part a region or joint, or no text for the skin around
    its feet.
    """
    asked = _asked(garment, named)
    feet = find_feet(tree, garment.vertices, garment.faces)
    tensors = curvature_tensors(body.vertices, body.faces).reshape(-1, 9)
    factors = growth_factors(feet, (foot_rows(feet, tree) @ tensors).reshape(-1, 3, 3))
    small = footprints(factors)
    core = asked | (detect & (small < min_footprint) & (factors[:, 0] >= BOTH_WAYS))
    ends = find_moving_ends(body, garment, feet, tree=tree) if detect else []
    found = [(end.core, end.morphs, max(blend, float(np.median(feet.clearance[end.core]))), True) for end in ends]
    if core.any():
        wide = max(blend, float(np.median(feet.clearance[core])))
        groups = _groups(garment, core, wide)
        found = [(group, _left(group, ends, len(body.deltas)), wide, False) for group in groups] + found
    pieces = []
    for group, morphs, wide, moving in found:
        names = _part_names(garment, group)
        reach = END_REACH if moving else REACH
        skin = _skin(body, feet, group, [named[name] for name in names if named.get(name)], reach)
        used = np.flatnonzero(skin)
        shares = skin[used] * vertex_areas(body.vertices, body.faces)[used]
        motion = fit_turned(body.vertices[used], shares, body.deltas[:, used], farthest(body.range))
        share = faded(distance_along(garment.vertices, garment.faces, group, within=wide) / wide)
        least = float(small[group].min())
        is_asked = not moving and bool(asked[group].any())
        pieces.append(FollowingPiece(names, group, share, is_asked, least, skin, motion, morphs, moving))
    return pieces


def _left(group: Bool[np.ndarray, " G"], ends: Sequence[MovingEnd], count: int) -> Bool[np.ndarray, " K"]:
    """The morphs on which no end in a group moves by itself, (K,)."""
    left = np.ones(count, dtype=bool)
    for end in ends:
        if (end.core & group).any():
            left &= ~end.morphs
    return left


def faded(distance: Float[np.ndarray, " N"]) -> Float[np.ndarray, " N"]:
    """1 at 0, falling by a smoothstep to 0 at 1 and beyond."""
    share = np.minimum(distance, 1.0)
    return 1.0 - share * share * (3.0 - 2.0 * share)


def _asked(garment: Garment, named: Mapping[str, str]) -> Bool[np.ndarray, " G"]:
    """Vertices of the named parts."""
    unknown = [name for name in named if name not in garment.part_names]
    if unknown:
        valid = ", ".join(garment.part_names)
        raise ArgumentError.of(
            "follow_whole", "parts", f"parts of {garment.name!r}: {valid}", repr(unknown[0]), "Use these"
        )
    chosen = np.zeros(len(garment.vertices), dtype=bool)
    chosen[garment.faces[np.isin(garment.face_parts, [garment.part_names.index(name) for name in named])]] = True
    return chosen


def _groups(garment: Garment, core: Bool[np.ndarray, " G"], blend: float) -> list[Bool[np.ndarray, " G"]]:
    """The core in pieces that lie farther apart than the transition is wide, so that no two claim one vertex."""
    near = distance_along(garment.vertices, garment.faces, core, within=0.5 * blend) <= 0.5 * blend
    pairs = np.concatenate([edges(garment.faces), seam_pairs(garment.vertices)])
    pairs = pairs[near[pairs].all(axis=1)]
    graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(core), len(core)))
    labels = connected_components(graph, directed=False)[1]
    _, first = np.unique(labels[core], return_index=True)
    return [core & (labels == label) for label in labels[core][np.sort(first)]]


def _part_names(garment: Garment, group: Bool[np.ndarray, " G"]) -> tuple[str, ...]:
    """Names of the parts that have a triangle in the group; else those that touch it."""
    corners = group[garment.faces]
    inside = corners.all(axis=1) if corners.all(axis=1).any() else corners.any(axis=1)
    return tuple(garment.part_names[part] for part in np.unique(garment.face_parts[inside]))


def farthest(box: Range) -> Float[np.ndarray, " K"]:
    """The end of each weight's interval that is farther from 0, (K,); 1 where both are 0."""
    far = np.where(np.abs(box.low) > np.abs(box.high), box.low, box.high)
    return np.where(far == 0.0, 1.0, far)


def _skin(body: Body, feet: Feet, group: Bool[np.ndarray, " G"], chosen: Sequence[str], least: float) -> VertexScalars:
    """How much each body vertex counts for a group, (B,): the chosen parts of the body, or the skin around its feet."""
    if chosen:
        return np.max([body_part(body, name) for name in chosen], axis=0)
    seeds = np.zeros(len(body.vertices), dtype=bool)
    seeds[body.faces[feet.faces[group]]] = True
    wide = CLEARANCE_REACH * float(np.median(feet.clearance[group])) if least >= REACH else 0.0
    reach = max(least, wide)
    return faded(distance_along(body.vertices, body.faces, seeds, within=reach) / reach)
