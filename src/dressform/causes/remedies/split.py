"""Too few vertices: shorten the edges over the bend, by the maker or by our own repair."""

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np
from jaxtyping import Bool
from scipy.sparse import csr_array

from dressform.body.shapes import Shape, distinct
from dressform.causes.advice_words import counted, length
from dressform.causes.edges_needed import longest_edge
from dressform.causes.remedies.remedy import Changed, Group, Remedy, remade
from dressform.causes.results import FOLLOWING, GARMENT
from dressform.causes.swaps.too_tight import outward
from dressform.repair.bisect import bisect
from dressform.repair.refine import refine, refined_garment
from dressform.repair.resolution import MIN_ROOM, measure_resolution

REACH = 0.05
"""Triangles within this of the places are split, metres."""
SHORTEST = 0.006
"""Nobody is asked for shorter edges than this, metres."""
FLATTEST = 1.0
"""Skin that bends less than this is taken as bending so much, 1/m."""
FINER = (1.0, 0.6, 0.35)
"""Shares of the longest edge that the bend allows which are tried, one after the other."""
ROUNDS = 3


def split(group: Group) -> Iterator[Remedy]:
    """Edges no longer than the bend allows, then shorter ones, then the repair `refine`."""
    worn = group.worn
    fit, seen = worn.fit, [one.cluster.worst for one in group.explained]
    shapes = distinct([Shape(one.label, one.weights) for one in seen])
    tested = measure_resolution(fit, shapes=shapes, tree=worn.context.tree)
    large = tested.failing & group.cloth(reach=REACH)[fit.garment.faces].any(axis=1)
    if large.any():
        room = np.maximum(tested.room[large], MIN_ROOM)
        radius = 1.0 / np.maximum(tested.curvature[large], FLATTEST)
        needed = min(longest_edge(float(r), float(bend), float(bend)) for r, bend in zip(room, radius))
        short_of_room = bool((tested.room[large] < MIN_ROOM).any())
        for share in FINER:
            longest = max(share * needed, SHORTEST)
            yield _by_hand(group, large, longest, short_of_room)
    yield Remedy(
        "`dressform fit --repairs refine`: it splits every triangle that is too large for the bend under it",
        FOLLOWING,
        partial(_by_repair, group),
    )


def _by_hand(group: Group, large: Bool[np.ndarray, " F"], longest: float, short_of_room: bool) -> Remedy:
    """The maker splits the triangles there until no edge is longer."""
    now = float(_longest_sides(group.worn.fit.garment.vertices, group.worn.fit.garment.faces)[large].max())
    count = len(group.explained)
    at = "at this place" if count == 1 else f"at these {count} places"
    words = f"split {counted(int(large.sum()), 'triangle')} {at} until no edge is longer than "
    words += f"{length(longest, down=True)} (as modelled: up to {length(now)}), on the curve of the cloth"
    if short_of_room:
        off = group.worn.margin + MIN_ROOM
        words += f", and bring their corners to at least {length(off)} off the skin at the base"
    return Remedy(words, GARMENT, partial(_split, group, large, longest, short_of_room))


def _split(group: Group, large: Bool[np.ndarray, " F"], longest: float, short_of_room: bool) -> Changed:
    worn = group.worn
    garment, rows = worn.fit.garment, None
    chosen = large
    for _ in range(ROUNDS):
        sides = _longest_sides(garment.vertices, garment.faces)
        shrink = np.where(chosen, np.maximum(sides / longest, 1.0) ** 2, 1.0)
        if not (shrink > 1.0).any():
            break
        step = bisect(garment.vertices, garment.faces, shrink)
        garment = refined_garment(garment, step)
        rows = step.rows if rows is None else csr_array(step.rows @ rows)
        chosen = chosen[step.parents]
    if short_of_room:
        room = np.full(len(garment.vertices), -np.inf)
        room[garment.faces[chosen]] = worn.margin + MIN_ROOM
        garment = replace(garment, vertices=garment.vertices + outward(worn.context.tree, garment.vertices, room))
    return remade(worn, garment=garment, rows=rows)


def _by_repair(group: Group) -> Changed:
    refined = refine(group.worn.fit)
    return Changed(refined.fit, refined.split.rows)


def _longest_sides(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    corners = vertices[faces]
    return np.asarray(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1))
