"""Layer below: let it follow smoothly, let the outer garment out over it, or keep all of them clear of each other."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from dressform.arrays import VertexScalars
from dressform.causes.advice_words import length
from dressform.causes.fade import FALLOFF
from dressform.causes.remedies.remedy import Changed, Group, Remedy, faded, unchanged
from dressform.causes.results import FOLLOWING, GARMENT
from dressform.faults.pierced import REACH
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import SMOOTH
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree
from dressform.repair.layers import repair_outfit

GAP = 0.002
"""Room between two layers, metres."""
MORE = (0.0, 0.004)
"""Room beside that, tried one after the other, metres."""
NEAR = 0.03
"""Cloth this near to a place is let out with it, metres."""


def over_layers(group: Group) -> Iterator[Remedy]:
    """Let rough layers below follow by `smooth`; repair the outfit from the skin outward."""
    under = group.worn.under
    rough = [one.garment.name for one in under if one.following.method != SMOOTH]
    if rough:
        words = f"let {' and '.join(f'`{name}`' for name in rough)} under it follow by `--method {SMOOTH}`"
        yield Remedy(words, FOLLOWING, lambda: _over_smooth(group))
    need = _need(group)
    for more in MORE if need.any() else ():
        words = f"let it out over {' and '.join(f'`{one.garment.name}`' for one in under)} by up to "
        words += f"{length(float(need.max()) + more)}, until it stands {length(GAP + more)} off, fading over "
        words += length(FALLOFF)
        yield Remedy(words, GARMENT, partial(_let_out, group, need, more))
    names = " ".join(f"`{one.garment.name}`" for one in under)
    words = f"`dressform outfit` with {names} under it: every garment is kept clear of what is worn under it"
    yield Remedy(words, FOLLOWING, lambda: _over_repaired(group))


def _need(group: Group) -> VertexScalars:
    """How far each vertex must come out to stand `GAP` off what comes through, on any shape of the places, metres."""
    worn = group.worn
    need = np.zeros(len(worn.fit.base))
    for weights in {one.cluster.worst.weights.tobytes(): one.cluster.worst.weights for one in group.explained}.values():
        cloth, look = worn.fit.at(weights), worn.look(weights)
        outward = vertex_normals(look.body, look.body_faces)[worn.foot_vertices]
        near = np.flatnonzero(group.cloth(reach=NEAR))
        for one in worn.under:
            hits = first_hit(Tree(one.at(weights), one.garment.faces), cloth[near], outward[near], far=REACH)
            need[near] = np.maximum(need[near], np.where(hits.blocked, hits.distances + GAP, 0.0))
    return need


def _let_out(group: Group, need: VertexScalars, more: float) -> Changed:
    """The outer garment moved away from the skin where it must, and around by less."""
    return faded(group, (need + more)[:, None] * group.worn.outward, need > 0.0)


def _over_smooth(group: Group) -> Changed:
    fit = group.worn.fit
    return Changed(fit, unchanged(fit), tuple(_smooth(one) for one in group.worn.under))


def _smooth(fit: Fit) -> Fit:
    following = replace(fit.following, method=SMOOTH, rotation_share=None)
    return fit if fit.following.method == SMOOTH else make_fit(fit.body, fit.garment, following)


def _over_repaired(group: Group) -> Changed:
    *under, outer = (layer.fit for layer in repair_outfit((*group.worn.under, group.worn.fit)))
    return Changed(outer, unchanged(outer), tuple(under))
