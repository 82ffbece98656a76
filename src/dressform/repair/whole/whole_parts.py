"""Repair beyond the extremities: cloth past toes, fingertips or crown follows foot, hand or head as a whole."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Weights
from dressform.errors import ArgumentError
from dressform.faults.broken import bend
from dressform.faults.percentiles import percentiles
from dressform.faults.pucker import SMOOTH_BELOW, PuckerWindows, pucker_index, pucker_windows
from dressform.fit.fit import Fit
from dressform.mesh.tree import Tree
from dressform.repair.cost import Cost, cost_of, shapes_of_cost
from dressform.repair.whole.rigid import Turned
from dressform.repair.whole.seated import seated
from dressform.repair.whole.whole_pieces import BLEND, MIN_FOOTPRINT, FollowingPiece, farthest, find_whole_pieces

MIN_FORM = 0.0005  # metres; a piece that was found and bends by less keeps its form as it is


@dataclass(frozen=True)
class WholePart:
    """A piece of cloth that follows a part of the body as a whole, or that was found but declined.

    Attributes:
        name: Names of the garment's parts that it belongs to.
        vertices: Cloth that follows fully, (N,); around it the share fades to 0.
        skin: Body vertices that it follows, (M,).
        footprint: Smallest footprint in it.
        motion: How it moves: one motion per morph.
        form_before: Largest departure of a vertex from the piece's best similarity before the repair, over the base
            and the ends of every morph's interval, metres.
        form_after: The same after the repair.
        pucker_before: 99th percentile of the pucker index where its share is positive, on the worst of these shapes.
        pucker_after: The same after the repair.
    """

    name: str
    vertices: Int[np.ndarray, " N"]
    skin: Int[np.ndarray, " M"]
    footprint: float
    motion: Turned
    form_before: float
    form_after: float
    pucker_before: float
    pucker_after: float


@dataclass(frozen=True)
class WholeParts:
    """A fit whose extremities keep their form, with the pieces that changed or were declined, and the cost.

    Attributes:
        fit: The repaired fit; the given fit where no piece follows as a whole.
        parts: The pieces that follow as a whole, by their lowest vertex.
        declined: Pieces that were found but not named, and left alone because the transition into the rest would have
            puckered more than before.
        share: How much of each vertex's motion is that of its piece, (G,), 0 to 1.
        cost: What it cost.
    """

    fit: Fit
    parts: tuple[WholePart, ...]
    declined: tuple[WholePart, ...]
    share: Float[np.ndarray, " G"]
    cost: Cost


def follow_whole(
    fit: Fit,
    *,
    parts: Sequence[str] = (),
    regions: Mapping[str, str] | None = None,
    detect: bool = True,
    min_footprint: float = MIN_FOOTPRINT,
    blend: float = BLEND,
    tree: Tree | None = None,
) -> WholeParts:
    """Let cloth beyond an extremity follow the part of the body that it stands on by one linearised similarity.

    Cloth lies beyond an extremity where its footprint ∏ (1 + c κ)⁻¹ falls below `min_footprint` and the skin is
    round in both directions, and, on those morphs alone, where a finger or toe moves apart from its limb. Such pieces,
    and the named parts, move by shift + turn × r + stretch r. This motion is fitted to the displacement of a part of
    the body by least squares, weighted by area and falling to 0 at its rim. It passes into the fit's own motion by a
    smoothstep along the cloth. All of it is linear in the body's displacement.

    Named parts are always changed. Found pieces are changed where they bend, if the worst transition leaves the cloth
    smooth, or smoother than before. Otherwise all of them are declined, so that left and right stay alike.
    Of fingers and toes each is judged by itself.

    Args:
        fit: The fit to repair; its base does not change.
        parts: Names of the garment's parts that follow as a whole, each connected piece by itself.
        regions: For parts by name: the region or joint of the body that is followed (a joint with all below it).
            Elsewhere it is the skin around the feet.
        detect: Whether to look for cloth beyond an extremity.
        min_footprint: Footprint below which such cloth is found.
        blend: Width of the transition, metres along the cloth; at least the clearance is taken.
        tree: The body's triangles, if already built.

    Raises:
        ArgumentError: a name is no part of the garment or no region of the body (the valid ones are listed), or
            `blend` is not positive.

    Proof: tests/repair/test_whole_parts.py::test_a_cap_on_a_turning_ball_follows_it_exactly
    """
    body = fit.body
    if not blend > 0:
        raise ArgumentError.of("follow_whole", "blend", "positive metres", f"{blend:g}", "Use 0.03")
    named = {**dict.fromkeys(parts, ""), **(regions or {})}
    skin = Tree(body.vertices, body.faces) if tree is None else tree
    found = find_whole_pieces(
        body, fit.garment, named=named, detect=detect, min_footprint=min_footprint, blend=blend, tree=skin
    )
    pieces = [_seated(fit, piece, skin) if piece.moving else piece for piece in found]
    shapes = shapes_of_cost(body.range)
    bent = [piece for piece in pieces if piece.asked or _form(fit, piece, shapes) >= MIN_FORM]
    windows = pucker_windows(fit.garment.vertices, fit.garment.faces) if bent else None
    told = [(piece, _told(fit, piece, shapes, windows)) for piece in bent if windows is not None]
    kept = _keeps_smooth([part for piece, part in told if not (piece.asked or piece.moving)])
    follows = [piece.asked or (_keeps_smooth([part]) if piece.moving else kept) for piece, part in told]
    done = [each for each, follow in zip(told, follows) if follow]
    declined = tuple(part for (_, part), follow in zip(told, follows) if not follow)
    repaired, share = _blended(fit, [piece for piece, _ in done])
    return WholeParts(repaired, tuple(part for _, part in done), declined, share, cost_of(fit, repaired))


def _seated(fit: Fit, piece: FollowingPiece, tree: Tree) -> FollowingPiece:
    """A finger or toe whose turns keep form and room all the way there."""
    far = farthest(fit.body.range)
    motion = seated(fit, piece.motion, core=piece.core, morphs=piece.morphs, far=far, tree=tree)
    return replace(piece, motion=motion)


def _keeps_smooth(found: Sequence[WholePart]) -> bool:
    """Whether pieces that were found leave the cloth smooth, or smoother than it was."""
    before = max((part.pucker_before for part in found), default=0.0)
    return max((part.pucker_after for part in found), default=0.0) <= max(before, SMOOTH_BELOW)


def _blended(fit: Fit, pieces: Sequence[FollowingPiece]) -> tuple[Fit, Float[np.ndarray, " G"]]:
    """The fit with the motion of each piece mixed in by its share, and the largest sum of shares of a morph, (G,)."""
    if not pieces:
        return fit, np.zeros(len(fit.base))
    shares = np.stack([piece.morphs[:, None] * piece.share for piece in pieces])
    shares /= np.maximum(shares.sum(axis=0), 1.0)
    deltas = fit.deltas * (1.0 - shares.sum(axis=0))[..., None]
    for share, piece in zip(shares, pieces):
        deltas += (share * fit.garment.strength)[..., None] * piece.motion.moves(fit.base)
    return replace(fit, deltas=deltas), shares.sum(axis=0).max(axis=0, initial=0.0)


def _form(fit: Fit, piece: FollowingPiece, shapes: Sequence[Weights]) -> float:
    """Largest departure of a core vertex from the core's best similarity, metres."""
    base, deltas = fit.base[piece.core], fit.deltas[:, piece.core]
    moved = (base + np.tensordot(shape, deltas, axes=1) for shape in shapes)
    return max(float(bend(base, core).distances.max()) for core in moved)


def _told(fit: Fit, piece: FollowingPiece, shapes: Sequence[Weights], windows: PuckerWindows) -> WholePart:
    """The report on one piece if it alone follows as a whole."""
    zone = piece.share[windows.stations] > 0
    fits = (fit, _blended(fit, [piece])[0])
    forms = [_form(each, piece, shapes) for each in fits]
    puckers = [max(_pucker_in(windows, each.at(shape), zone) for shape in shapes) for each in fits]
    return WholePart(
        ", ".join(piece.part_names),
        np.flatnonzero(piece.core),
        np.flatnonzero(piece.skin),
        piece.footprint,
        piece.motion,
        *forms,
        *puckers,
    )


def _pucker_in(windows: PuckerWindows, cloth: Float[np.ndarray, "G 3"], zone: Bool[np.ndarray, " S"]) -> float:
    """99th percentile by area of the pucker index in some windows."""
    return percentiles(pucker_index(windows, cloth)[zone], windows.areas[zone], (99.0,))[0]
