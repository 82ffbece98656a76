"""A shorter range: how far a wearer may still go with a garment, where no cloth follows farther."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from dressform.body.range import Range
from dressform.causes.remedies.remedy import Changed, Group, Remedy, unchanged
from dressform.causes.results import BODY
from dressform.repair.whole.moving_ends import find_moving_ends
from dressform.repair.whole.whole_parts import follow_whole

LIMITS = (0.8, 0.65, 0.5, 0.35, 0.2)
"""Shares of an interval that are left to a morph, tried one after the other, as much as can be left first."""


def shorten_range(group: Group, *, whole: bool) -> Iterator[Remedy]:
    """Let the morphs that move a finger or toe apart from its limb go less far.

    A turn by a right angle on one straight way folds or crushes whatever stands round the joint, stiff or not.

    Args:
        group: The places.
        whole: Whether `--repairs whole` helps there: it is then tried over the shorter range as well.
    """
    worn = group.worn
    body = worn.fit.body
    near = group.cloth(reach=0.0)
    ends = find_moving_ends(body, worn.fit.garment, worn.feet, tree=worn.context.tree)
    morphs = np.any([end.morphs for end in ends if (end.core & near).any()], axis=0)
    if not np.any(morphs):
        return
    names = " and ".join(f"`{name}`" for name, moves in zip(body.morph_names, morphs) if moves)
    for share in LIMITS:
        kept = np.where(morphs, share, 1.0)
        box = Range(body.range.names, kept * body.range.low, kept * body.range.high)
        words = f"where it is worn, let {names} go to {100 * share:.0f} % of the way only (`--range`)"
        if whole:
            yield Remedy(f"{words}, and `dressform fit --repairs whole`", BODY, partial(_whole, group, box))
        yield Remedy(words, BODY, partial(_as_it_is, group, box))


def _as_it_is(group: Group, box: Range) -> Changed:
    fit = group.worn.fit
    return Changed(fit, unchanged(fit), box=box)


def _whole(group: Group, box: Range) -> Changed:
    """The same with the cloth past the end of the limb following it as one piece, all the shorter way there."""
    worn = group.worn
    shorter = replace(worn.fit, body=replace(worn.fit.body, range=box))
    fit = replace(follow_whole(shorter, tree=worn.context.tree).fit, body=worn.fit.body)
    return Changed(fit, unchanged(fit), box=box)
