"""Faults of the body's own morphs: blend the rim of a rigid patch, smooth a rough morph."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from dressform.arrays import BodyPoints
from dressform.causes.advice_words import length
from dressform.causes.evidence import figures_of
from dressform.causes.remedies.remedy import Changed, Group, Remedy, remade, unchanged
from dressform.causes.results import BODY, FOLLOWING
from dressform.causes.roughness import BRUSH
from dressform.repair.blend_rims import SLOPE, blend_rims, without_jumps

GENTLER = (1.0, 0.5, 0.25)
"""Shares of the slope to which rims are blended that are tried, one after the other."""


def blend(group: Group) -> Iterator[Remedy]:
    """Blend the rim in the body file, or for this garment only."""
    morph = _morph(group)
    if morph is None:
        return
    steps = [figures_of(one.evidence, "rim_step").get(group.subject, 0.0) for one in group.explained]
    for gentler in GENTLER:
        words = f"in the body file, blend the rim of the patch that `{group.subject}` shifts as one piece, a step of "
        words += f"{length(max(steps))}, over {length(max(steps) / (gentler * SLOPE))}"
        yield Remedy(words, BODY, partial(_blended, group, morph, gentler * SLOPE))
    yield Remedy(
        "`dressform fit --repairs blend-rims`: the cloth bridges the rims of the body's rigid patches",
        FOLLOWING,
        partial(_by_repair, group),
    )


def _blended(group: Group, morph: int, slope: float) -> Changed:
    """The garment on a body of which one morph's rims are blended."""
    context = group.worn.context
    patches = context.rigid_patches(morph).rigid_patches
    return _with_delta(group, morph, without_jumps(context.body, context.body.deltas[morph], patches, slope=slope))


def smooth(group: Group) -> Iterator[Remedy]:
    """Smooth the morph in the body file."""
    context, morph = group.worn.context, _morph(group)
    if morph is None:
        return
    levels = [figures_of(one.evidence, "morph_noise").get(group.subject, 0.0) for one in group.explained]
    words = f"in the body file, smooth the morph `{group.subject}` over {length(BRUSH)}: it shifts vertices by "
    words += f"{length(max(levels))} against their neighbours"
    yield Remedy(words, BODY, lambda: _with_delta(group, morph, context.brush.smoothed(context.body.deltas[morph])))


def _morph(group: Group) -> int | None:
    names = group.worn.fit.morph_names
    return names.index(group.subject) if group.subject in names else None


def _with_delta(group: Group, morph: int, delta: BodyPoints) -> Changed:
    """The garment on a body of which one morph is another."""
    body = group.worn.fit.body
    deltas = np.array(body.deltas)
    deltas[morph] = delta
    return remade(group.worn, body=replace(body, deltas=deltas))


def _by_repair(group: Group) -> Changed:
    fit = blend_rims(group.worn.fit, tree=group.worn.context.tree).fit
    return Changed(fit, unchanged(fit))
