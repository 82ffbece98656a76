"""Changes of how cloth follows: nearer to its own skin, by another method, as a whole, as a stiff part, not at all."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from dressform.causes.advice_words import counted, length, quoted
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.fade import FALLOFF
from dressform.causes.remedies.remedy import Changed, Group, Remedy, faded, moved, remade, unchanged
from dressform.causes.results import FOLLOWING, GARMENT
from dressform.causes.swaps.ambiguous_foot import CLEARLY, led_feet, nearer
from dressform.causes.swaps.should_not_follow import FADE, FAR
from dressform.fit.fit import Fit
from dressform.garment.following import SMOOTH
from dressform.garment.strength import with_strength
from dressform.repair.bring_out import bring_out
from dressform.repair.whole.hard_parts import keep_rigid
from dressform.repair.whole.whole_parts import follow_whole

RISES = (0.002, 0.004)
"""How much farther off the cloth a hard part is set where it would cut into it, metres."""
REACH = 0.02
"""Cloth this near to places on a limb is let out with them, metres."""


def bring_near(group: Group) -> Iterator[Remedy]:
    """Model the cloth clearly nearer to the skin that it belongs to; else follow by another method."""
    worn = group.worn
    rows = unchanged(worn.fit)
    feet, held = led_feet(worn, np.arange(len(worn.fit.base)), worn.fit.garment, rows)
    held &= group.cloth(reach=2.0 * FALLOFF)
    if held.any():
        for share in CLEARLY:
            moves = nearer(worn, feet, held, share)
            lack = np.linalg.norm(moves, axis=1)
            if lack.any():
                words = f"model the cloth there ({counted(int(held.sum()), 'vertex').replace('vertexs', 'vertices')}) "
                words += f"up to {length(float(lack.max()))} nearer to the skin that the cloth around it stands on, "
                words += f"within {100 * share:.0f} % of the gap, fading over {length(FALLOFF)}"
                yield Remedy(words, GARMENT, partial(faded, group, moves, held))
    yield from by_method(group)


def by_method(group: Group) -> Iterator[Remedy]:
    """Follow by `smooth`, where the cloth follows by another method."""
    following = group.worn.fit.following
    if following.method != SMOOTH:
        words = f"let it follow by `--method {SMOOTH}`; it is the method `{following.method}` that does this"
        instead = replace(following, method=SMOOTH, rotation_share=None)
        yield Remedy(words, FOLLOWING, lambda: remade(group.worn, following=instead))


def as_a_whole(group: Group) -> Iterator[Remedy]:
    """Cloth past the end of a limb follows it as one piece."""
    what = "`dressform fit --repairs whole`: the cloth past the end of the limb follows it as one piece"
    yield Remedy(what, FOLLOWING, partial(_as_a_whole, group, group.worn.fit))
    for rise in RISES:
        words = f"let the cloth within {length(REACH)} of there out by {length(rise)}, fading over {length(FALLOFF)}, "
        words += f"since it no longer bends with the limb, and {what}"
        yield Remedy(words, GARMENT, partial(_wider, group, rise))


def stiff_or_off(group: Group) -> Iterator[Remedy]:
    """Stiff parts keep their form, cloth far from the body stays where it is."""
    worn = group.worn
    if group.figures("far_clearance"):
        words = f"paint its strength down to nothing (`--mask`) from {length(FAR - FADE)} to {length(FAR)} off the skin"
        yield Remedy(words, GARMENT, partial(_left, group))
        return
    small = bool(worn.pieces.hard.any())
    option = "--repairs hard" if small or not group.subject else f"--hard {quoted(group.subject)}"
    what = f"fit it by `dressform fit {option}`: it keeps its form and moves with the cloth that it sits on"
    yield Remedy(what, FOLLOWING, lambda: _stiff(group, worn, small))
    for rise in RISES if small else ():
        words = f"set it {length(rise)} farther off the cloth, since it no longer bends with it, and {what}"
        yield Remedy(words, GARMENT, partial(_risen, group, rise))


def _stiff(group: Group, worn: ExplainedGarment, small: bool) -> Changed:
    """Hard parts moved unbent: small closed ones, or the part that the group is about."""
    parts = (*worn.fit.following.hard, *(() if small or not group.subject else (group.subject,)))
    fit = keep_rigid(worn.fit, parts=parts).fit
    return Changed(fit, unchanged(fit))


def _risen(group: Group, rise: float) -> Changed:
    """The same with the hard pieces at the places set farther off the skin."""
    worn = group.worn
    pieces = np.unique(worn.pieces.of_vertices[group.cloth(reach=0.0) & worn.pieces.hard_vertices()])
    moves = np.zeros_like(worn.fit.garment.vertices)
    for piece in pieces:
        own = worn.pieces.of_vertices == piece
        normal = worn.feet.normals[own].mean(axis=0)
        moves[own] = rise * normal / max(float(np.linalg.norm(normal)), 1e-9)
    fit = keep_rigid(moved(worn, moves).fit).fit
    return Changed(fit, unchanged(fit))


def _as_a_whole(group: Group, fit: Fit) -> Changed:
    fit = follow_whole(fit, tree=group.worn.context.tree).fit
    return Changed(fit, unchanged(fit))


def _wider(group: Group, rise: float) -> Changed:
    """The same with the cloth at the places farther off the skin."""
    held = group.cloth(reach=REACH)
    return _as_a_whole(group, faded(group, rise * group.worn.feet.normals, held).fit)


def _left(group: Group) -> Changed:
    worn = group.worn
    mask = np.clip((FAR - worn.clearance) / FADE, 0.0, 1.0) * worn.fit.garment.strength
    return remade(worn, garment=with_strength(worn.fit.garment, mask=mask, falloff=0.0))


def carry_back(group: Group) -> Iterator[Remedy]:
    """Model it on this base body; and off its skin, since the shape that it comes from is known in part only."""
    origin = group.worn.origin
    if origin is not None:
        most = length(float(np.linalg.norm(origin.moves, axis=1).max()))
        words = (
            f"model it on this base body: carried there from the shape that it was made on, it moves by up to {most}"
        )
        yield Remedy(words, GARMENT, lambda: moved(group.worn, origin.moves))
        fit = moved(group.worn, origin.moves).fit
        out = bring_out(fit, tree=group.worn.context.tree).fit.base - fit.base
        farthest = float(np.linalg.norm(out, axis=1).max())
        if farthest > 0.0:
            also = f"{words}, and bring it out of the skin there by up to {length(farthest)}, smoothly"
            yield Remedy(also, GARMENT, lambda: moved(group.worn, origin.moves + out))
