"""Cloth gets vertices where it needs them, nowhere else, and everything that it carries comes along."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import METHODS, Following
from dressform.garment.garment import Garment
from dressform.lift.lift import make_lift
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.topology import audit, boundary_edges
from dressform.mesh.tree import Tree
from dressform.repair.refine import refine
from phantoms import RADIUS, phantom_body, tube

MARGIN = 0.001
FOLLOWING = Following(margin_mm=MARGIN * 1e3)
BODY = {"rings": 90, "sides": 110}


def _fit(*, sides: int, clearance: float, rings: int = 24, following: Following = FOLLOWING) -> Fit:
    vertices, faces = tube(clearance=clearance, rings=rings, sides=sides)
    return make_fit(phantom_body(**BODY), Garment.of("tube", vertices, faces), following)


def _crossings(fit: Fit, weights: np.ndarray) -> int:
    body = phantom_body(**BODY)
    return len(crossing_pairs(Tree(fit.at(weights), fit.garment.faces), Tree(body.at(weights), body.faces)))


def test_where_nothing_fails_the_same_fit_comes_back() -> None:
    fit = _fit(sides=40, clearance=0.05)
    result = refine(fit)
    assert result.fit is fit
    assert (result.added, result.removed, result.left, result.added_per_fault) == (0, 0, 0, 0.0)


def test_a_coarse_tube_is_split_until_its_chords_leave_room_for_the_sagitta() -> None:
    """L²/8R ≤ c − m asks for chords of √(8R(c − m)); after the split no chord is longer and nothing fails."""
    clearance = 0.006
    fit = _fit(sides=12, clearance=clearance, rings=30)
    result = refine(fit, shapes=[])
    assert result.before.failing.sum() > 100
    assert (result.left, result.after.failing.sum()) == (0, 0)
    assert result.removed == result.before.failing.sum()
    assert result.added_per_fault == result.added / result.removed
    rim = boundary_edges(result.fit.garment.faces)
    chords = np.linalg.norm(result.fit.base[rim[:, 0]] - result.fit.base[rim[:, 1]], axis=1)
    assert chords.max() < np.sqrt(8 * RADIUS * (clearance - MARGIN)) * 1.02
    assert result.after.index.max() <= 1.0
    found = audit(result.fit.base, result.fit.garment.faces)
    assert (found.shells, found.branching_edges, found.turned_edges, found.unused_vertices) == (1, 0, 0, 0)


def test_a_belly_that_came_through_the_triangles_does_so_no_more() -> None:
    body, fit = phantom_body(**BODY), _fit(sides=14, clearance=0.006, rings=14)
    belly = body.weights({"belly": 1.0})
    result = refine(fit)
    assert _crossings(fit, np.zeros(3)) == 0
    assert _crossings(fit, belly) > 0
    assert _crossings(result.fit, belly) == 0
    assert result.fit.deltas.shape == (3, len(result.fit.base), 3)


def test_only_what_fails_and_its_rim_is_split() -> None:
    fit = _fit(sides=18, clearance=0.006, rings=30)
    result = refine(fit)
    pieces = np.bincount(result.split.parents, minlength=len(fit.garment.faces))
    behind = fit.base[fit.garment.faces][:, :, 2].max(axis=1) < -0.05
    assert result.added > 0
    assert (pieces[behind] == 1).all()
    assert result.added < 0.5 * len(fit.base)
    old = len(fit.base)
    assert np.array_equal(result.fit.base[:old], fit.base)


def test_strength_parts_and_skin_come_along() -> None:
    body = phantom_body(**BODY)
    plain = _fit(sides=12, clearance=0.006, rings=16).garment
    height = plain.vertices[:, 1]
    parts = (plain.vertices[plain.faces].mean(axis=1)[:, 1] > 1.0).astype(np.int64)
    garment = replace(plain, part_names=("low", "high"), face_parts=parts, strength=np.clip(height - 0.4, 0, 1))
    result = refine(make_fit(body, garment, FOLLOWING), shapes=[])
    made = result.fit.garment
    assert len(made.vertices) > len(garment.vertices)
    assert made.strength == pytest.approx(result.split.rows @ garment.strength)
    middles = made.vertices[made.faces].mean(axis=1)[:, 1]
    clearly = np.abs(middles - 1.0) > 0.06
    assert np.array_equal(made.face_parts[clearly], (middles > 1.0).astype(np.int64)[clearly])


def test_what_an_earlier_repair_changed_is_kept() -> None:
    fit = _fit(sides=12, clearance=0.006, rings=16)
    moved = replace(fit, base=fit.base + np.array([0.0, 0.001, 0.0]), deltas=fit.deltas + np.array([0.0, 0.0, 0.002]))
    plain = refine(fit, shapes=[])
    again = refine(moved, shapes=[])
    assert np.array_equal(plain.fit.garment.faces, again.fit.garment.faces)
    assert again.fit.deltas - plain.fit.deltas == pytest.approx(np.broadcast_to([0, 0, 0.002], again.fit.deltas.shape))
    assert again.fit.base - again.fit.garment.vertices == pytest.approx(
        np.broadcast_to([0.0, 0.001, 0.0], again.fit.base.shape)
    )


@pytest.mark.parametrize("share", [0.0, 1.0])
@pytest.mark.parametrize("method", METHODS)
def test_new_vertices_follow_by_the_method_and_the_rotation_share_of_the_fit(method: str, share: float) -> None:
    following = Following(method=method, rotation_share=share, ease="scale", margin_mm=MARGIN * 1e3)
    result = refine(_fit(sides=12, clearance=0.006, rings=16, following=following), shapes=[])
    assert result.added > 0
    lifted = make_lift(phantom_body(**BODY), result.fit.garment, following).displacements(phantom_body(**BODY).deltas)
    assert result.fit.deltas == pytest.approx(lifted, abs=1e-12)


def test_a_strength_that_was_asked_for_is_not_applied_twice() -> None:
    fit = _fit(sides=12, clearance=0.006, rings=16, following=replace(FOLLOWING, strength=0.5))
    assert refine(fit, shapes=[]).fit.garment.strength == pytest.approx(0.5)


def test_unless_told_otherwise_new_vertices_go_onto_the_curve_and_not_onto_the_chords() -> None:
    """On the round the middle of a chord lies the sagitta inside the circle through its ends."""
    fit = _fit(sides=12, clearance=0.006, rings=12)
    circle = RADIUS + 0.006
    inward = {}
    for name, result in {
        "curve": refine(fit, shapes=[], max_rounds=1),
        "chord": refine(fit, shapes=[], max_rounds=1, smooth=False),
    }.items():
        made = result.fit.garment.vertices[len(fit.base) :]
        inward[name] = float((circle - np.hypot(made[:, 0], made[:, 2])).max())
    sagitta = circle * (1 - np.cos(np.pi / 12))
    assert inward["chord"] == pytest.approx(sagitta, rel=0.02)
    assert inward["curve"] < 0.2 * sagitta
