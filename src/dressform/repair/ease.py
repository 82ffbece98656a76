"""Repair of ease: take in or let out a garment to a wanted ease at named levels, and keep its style."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from jaxtyping import Bool, Float
from scipy.sparse import diags_array

from dressform.arrays import ClothPoints, Faces, VertexScalars
from dressform.body.body import Body
from dressform.body.measure_marks import UP
from dressform.errors import ArgumentError
from dressform.faults.ease import Tapes, girth_ease, make_tapes
from dressform.fit.fit import Fit
from dressform.fit.make import refit
from dressform.lift.feet import Feet, find_feet
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.laplacian import cotangent
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.sections import girth
from dressform.mesh.tree import Tree

FADE = 0.12  # metres above the highest and below the lowest level over which the change dies away
SMOOTH_LENGTH = 0.04  # metres along the cloth over which the directions are evened out
MIN_AREA = 0.02  # share of the median vertex area that every vertex weighs at least
EXACT = 1e-6  # metres; girths are met to this
MAX_STEPS = 30
CLOSEST_LEVELS = 0.01  # metres; levels nearer to each other than this cannot differ


@dataclass(frozen=True)
class LevelEase:
    """The tape at one level before and after, all in metres.

    Attributes:
        name: Name of the level.
        height: Its height at the base.
        asked: Requested change of girth; 0 at a level that had to keep its girth.
        girth_before: Girth of the cloth, a taut tape.
        girth_after: The same after the repair.
        ease_before: Girth of the cloth minus that of the trunk.
        ease_after: The same after the repair.
    """

    name: str
    height: float
    asked: float
    girth_before: float
    girth_after: float
    ease_before: float
    ease_after: float

    @property
    def missed(self) -> float:
        """Actual minus requested change of girth, metres."""
        return self.girth_after - self.girth_before - self.asked


@dataclass(frozen=True)
class Altered:
    """A fit with another ease, with the moves and the clearance from the skin before and after.

    Attributes:
        fit: The altered fit; the one given where nothing was to be changed.
        levels: Every level that the garment goes around, from the lowest up.
        moves: What was added to the base, (G, 3), metres; horizontal.
        largest_move: Longest of the moves, metres.
        rms_move: Their root-mean-square by area, metres.
        clearance_before: Least clearance of a vertex at the base, metres.
        clearance_after: The same after it. Where it is too little, `keep_clear` comes next.
        missed: Largest difference at a level from the requested change, metres.
    """

    fit: Fit
    levels: tuple[LevelEase, ...]
    moves: Float[np.ndarray, "G 3"]
    largest_move: float
    rms_move: float
    clearance_before: float
    clearance_after: float
    missed: float


def set_ease(
    fit: Fit,
    *,
    wanted: Mapping[str, float] | None = None,
    change: Mapping[str, float] | None = None,
    levels: Mapping[str, float] | None = None,
    fade: float = FADE,
    relift: bool = False,
) -> Altered:
    """Take in or let out the base so that a tape at each level reads the requested girth.

    Cloth moves horizontally, away from the skin under it or towards it. The amount is a smooth function of height:
    constant around a level, a smoothstep between two levels, and a smoothstep to 0 beyond the last. So pleats, seams
    and hems keep their form, and heights do not change. Levels that are not named keep their girth; sleeves stay. The
    amount at a level starts as change / 2π, which is exact for a smooth convex section [Steiner1840], and is then
    corrected by the tape.

    Args:
        fit: The fit to alter.
        wanted: Ease to reach by level, metres.
        change: Or the amount to add to the girth by level, metres; negative takes in.
        levels: Heights at the base by name, metres. By default bust, under-bust, waist and hip, as far as the
            trunk shows them and the garment goes around it there.
        fade: Height over which the change dies away beyond the last level, metres.
        relift: Whether to lift the morphs again for the altered garment; else the deltas stay the same.

    Raises:
        ArgumentError: a level that this garment does not go around (those that it does are listed), one named twice,
            two levels at one height, or `fade` that is not positive.

    Proof: tests/repair/test_ease.py::test_the_tape_reads_just_what_was_asked_and_the_tube_grew_by_it_over_two_pi
    """
    if not fade > 0:
        raise ArgumentError.of("set_ease", "fade", "positive metres", f"{fade:g}", "Give at least 0.02")
    body = fit.body
    tree, faces = Tree(body.vertices, body.faces), fit.garment.faces
    feet = find_feet(tree, fit.base, faces)
    tapes = make_tapes(body, fit.base, faces, feet.faces, levels=levels)
    heights = {name: float(tapes.marks[name].at(body.vertices)[1]) for name in tapes.base}
    targets = _targets(tapes, heights, wanted or {}, change or {})
    names = sorted(targets, key=heights.__getitem__)
    asked = np.array([targets[name] - tapes.base[name] for name in names])
    moves = np.zeros_like(fit.base)
    if asked.any():
        directions = _directions(fit, feet, tapes, len(body.faces))
        moves = _solved(fit, tapes, directions, np.array([heights[name] for name in names]), targets, fade)
    after = girth_ease(tapes, body.vertices, fit.base + moves)
    trunk = _girth_of_trunk(body, tapes)
    told = tuple(
        LevelEase(
            name,
            heights[name],
            float(gain),
            trunk[name] + tapes.base[name],
            trunk[name] + after[name][1],
            tapes.base[name],
            after[name][1],
        )
        for name, gain in zip(names, asked)
    )
    altered = fit if not asked.any() else _altered(fit, moves, relift, tree)
    lengths = np.linalg.norm(moves, axis=1)
    areas = vertex_areas(fit.base, faces)
    return Altered(
        altered,
        told,
        moves,
        float(lengths.max(initial=0.0)),
        float(np.sqrt(lengths**2 @ areas / max(float(areas.sum()), np.finfo(float).tiny))),
        float(feet.clearance.min()),
        float(signed_clearance(tree, altered.base)[0].min()),
        max((abs(level.missed) for level in told), default=0.0),
    )


def _targets(
    tapes: Tapes, heights: Mapping[str, float], wanted: Mapping[str, float], change: Mapping[str, float]
) -> dict[str, float]:
    """Ease to reach at every level, metres: the present ease where no change is requested."""
    for argument, asked in (("wanted", wanted), ("change", change)):
        unknown = [name for name in asked if name not in tapes.base]
        if unknown:
            known = ", ".join(tapes.base) or "none"
            rule = f"levels that the garment goes around: {known}"
            raise ArgumentError.of("set_ease", argument, rule, repr(unknown[0]), "Use these, or give `levels`")
    twice = sorted(wanted.keys() & change.keys())
    if twice:
        raise ArgumentError.of(
            "set_ease", "change", "about levels without a `wanted` ease", repr(twice[0]), "Ask for one of the two"
        )
    ranked = sorted(heights, key=heights.__getitem__)
    for low, high in pairwise(ranked):
        if heights[high] - heights[low] < CLOSEST_LEVELS:
            rule = f"at least {CLOSEST_LEVELS:g} m apart"
            raise ArgumentError.of("set_ease", "levels", rule, f"{low!r} and {high!r}", "Leave one of them out")
    return {name: wanted.get(name, base + change.get(name, 0.0)) for name, base in tapes.base.items()}


def _directions(fit: Fit, feet: Feet, tapes: Tapes, body_faces: int) -> Float[np.ndarray, "G 3"]:
    """Horizontal directions out of the skin under the cloth, of length 1 on the trunk and 0 on sleeves, (G, 3).

    They are evened out along the cloth by an implicit step of heat flow, so that a fold or a breast does not print.
    """
    on_trunk = np.zeros(body_faces, dtype=bool)
    on_trunk[tapes.trunk] = True
    trunk = on_trunk[feet.faces]
    level = np.where(trunk[:, None], feet.normals * (1.0 - np.abs(UP)), 0.0)
    smooth = _evened(fit.base, fit.garment.faces, np.column_stack([level, trunk]))
    lengths = np.linalg.norm(smooth[:, :3], axis=1, keepdims=True)
    unit = np.divide(smooth[:, :3], lengths, out=np.zeros_like(level), where=lengths > np.finfo(float).eps)
    return unit * np.where(trunk, 1.0, smooth[:, 3])[:, None]


def _evened(vertices: ClothPoints, faces: Faces, field: Float[np.ndarray, "G C"]) -> Float[np.ndarray, "G C"]:
    """Weighted means of a field over about `SMOOTH_LENGTH` of cloth: (M + ℓ² K)⁻¹ M."""
    areas = vertex_areas(vertices, faces)
    mass = np.maximum(areas, MIN_AREA * float(np.median(areas[areas > 0])))
    stiffness = cotangent(vertices, faces)
    return Factor(diags_array(mass) + SMOOTH_LENGTH**2 * stiffness).solve(mass[:, None] * field)


def _solved(
    fit: Fit,
    tapes: Tapes,
    directions: Float[np.ndarray, "G 3"],
    heights: Float[np.ndarray, " L"],
    targets: Mapping[str, float],
    fade: float,
) -> Float[np.ndarray, "G 3"]:
    """Moves with which every tape reads its target: secant steps per level, since levels hardly affect each other."""
    body = fit.body
    names = sorted(targets, key=lambda name: float(tapes.marks[name].at(body.vertices)[1]))
    goal = np.array([targets[name] for name in names])

    def short(moves: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, " L"]:
        read = girth_ease(tapes, body.vertices, fit.base + moves)
        return goal - np.array([read[name][1] for name in names])

    amounts, moves = np.zeros(len(names)), np.zeros_like(fit.base)
    missing, slopes = short(moves), np.full(len(names), 2 * np.pi)
    for _ in range(MAX_STEPS):
        if np.abs(missing).max() < EXACT:
            break
        steps = missing / slopes
        amounts = amounts + steps
        moves = profile(fit.base[:, 1], heights, amounts, fade)[:, None] * directions
        left = short(moves)
        told = np.abs(steps) > EXACT
        found = np.divide(missing - left, steps, out=slopes.copy(), where=told)
        slopes = np.clip(found, np.pi / 2, 4 * np.pi)
        missing = left
    return moves


def profile(
    height: VertexScalars, levels: Float[np.ndarray, " L"], amounts: Float[np.ndarray, " L"], fade: float
) -> VertexScalars:
    """Amount at every height: each level's own, smoothsteps between levels, and to 0 over `fade` beyond the last."""
    knots = np.concatenate([[levels[0] - fade], levels, [levels[-1] + fade]])
    values = np.concatenate([[0.0], amounts, [0.0]])
    at = np.clip(np.searchsorted(knots, height, side="right") - 1, 0, len(knots) - 2)
    share = np.clip((height - knots[at]) / (knots[at + 1] - knots[at]), 0.0, 1.0)
    return values[at] + share * share * (3.0 - 2.0 * share) * (values[at + 1] - values[at])


def _girth_of_trunk(body: Body, tapes: Tapes) -> dict[str, float]:
    """Girth of the trunk at each level, metres."""
    trunk: Bool[np.ndarray, " F"] = np.zeros(len(body.faces), dtype=bool)
    trunk[tapes.trunk] = True
    marks = {name: tapes.marks[name].at(body.vertices) for name in tapes.base}
    return {name: girth(body.vertices, body.faces, mark, UP, face_mask=trunk) for name, mark in marks.items()}


def _altered(fit: Fit, moves: Float[np.ndarray, "G 3"], relift: bool, tree: Tree) -> Fit:
    """The fit on its new base, with its deltas kept or lifted again for the new garment."""
    if not relift:
        return replace(fit, base=fit.base + moves)
    garment = replace(fit.garment, vertices=fit.garment.vertices + moves)
    return replace(refit(fit.body, garment, fit.following, tree=tree), base=fit.base + moves)
