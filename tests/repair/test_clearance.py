"""Repaired cloth keeps clear over the whole range, changes as little as it can, and says what it could not do."""

from dataclasses import replace

import numpy as np
import pytest

from bare import bare_fit
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.mesh.intersect import crossing_pairs
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import LinearMesh, linear_body, linear_cloth, linear_mesh
from dressform.repair.clear.clearance import BASE_PRICE, Clearance, keep_clear
from proof.spheres import ball

RADIUS = 0.1
ROOM = 0.01
GROWTH = 0.02
MARGIN = 0.002
FOLLOWING = Following(margin_mm=MARGIN * 1e3)


def _shell(*, shift: float = 0.0, follows: float = 0.0) -> Fit:
    vertices, faces = ball(3)
    base = (RADIUS + ROOM) * vertices + np.array([0.0, shift, 0.0])
    return Fit(_body(), Garment.of("shell", base, faces), FOLLOWING, base, follows * GROWTH * vertices[None])


def _body() -> Body:
    vertices, faces = ball(3)
    return Body("core", RADIUS * vertices, faces, ("grow",), GROWTH * vertices[None], Range.unit(("grow",)))


def _core() -> LinearMesh:
    return linear_body(_body())


def _repaired(fit: Fit, box: Range | None = None) -> Clearance:
    return keep_clear(fit, _core(), box=box)


def test_a_fit_that_keeps_clear_is_returned_as_it_came() -> None:
    fit = _shell(follows=1.0)
    result = _repaired(fit)
    assert result.fit is fit
    assert result.rounds == 0
    assert result.short_before == 0


def test_a_shell_that_does_not_follow_is_opened_by_just_what_is_missing() -> None:
    """Ball 0.1 → 0.12 in a shell of 0.11: 12 mm are missing for 2 mm of room, shared as the prices say."""
    fit = _shell()
    result = _repaired(fit)
    outward = ball(3)[0]
    base = np.einsum("vx,vx->v", result.fit.base - fit.base, outward)
    delta = np.einsum("vx,vx->v", result.fit.deltas[0], outward)
    assert result.short_before > 0
    assert len(result.conflicts) == 0
    assert np.median(delta / base) == pytest.approx(BASE_PRICE, rel=0.02)
    assert np.median(base + delta) == pytest.approx(GROWTH + MARGIN - ROOM, abs=6e-4)
    assert result.delta_move[0] == pytest.approx(np.linalg.norm(result.fit.deltas[0], axis=1).max())


def test_repaired_cloth_is_certified_over_the_whole_range_and_crosses_nothing() -> None:
    result = _repaired(_shell())
    proof = certify(linear_cloth(result.fit), _core(), Range.unit(("grow",)), margin=0.9 * MARGIN)
    assert proof.share == 1.0
    for weight in np.linspace(0, 1, 9):
        cloth, body = linear_cloth(result.fit), _core()
        moved = cloth.tree.refit(cloth.at(np.array([weight])))
        assert len(crossing_pairs(moved, body.tree.refit(body.at(np.array([weight]))))) == 0


def test_the_base_stays_nearly_as_it_is_where_moving_it_is_dear() -> None:
    dear = keep_clear(_shell(), _core(), base_price=1e4)
    assert dear.base_move[0] < 1e-4
    assert len(dear.conflicts) == 0


def test_negative_weights_are_kept_clear_too() -> None:
    box = Range(("grow",), np.array([-1.0]), np.array([1.0]))
    fit = replace(_shell(), deltas=-3 * GROWTH * ball(3)[0][None])
    result = _repaired(fit, box)
    assert len(result.conflicts) == 0
    assert certify(linear_cloth(result.fit), _core(), box).share == 1.0


def test_what_lies_in_the_body_at_the_base_is_left_alone() -> None:
    fit = _shell(shift=0.015)
    result = _repaired(fit)
    assert result.left_alone.any()
    untouched = np.setdiff1d(fit.garment.faces[result.left_alone], fit.garment.faces[~result.left_alone])
    assert np.linalg.norm(result.fit.base - fit.base, axis=1)[untouched].max() < 0.01


def test_what_lies_in_the_body_at_the_base_goes_no_deeper() -> None:
    """The ball grows by 20 mm round a shell that does not follow: what lay 5 mm deep would lie 25 mm deep."""
    fit = _shell(shift=0.015)
    result = _repaired(fit)
    inside = np.unique(fit.garment.faces[result.left_alone])
    grown = np.array([1.0])
    before = np.linalg.norm(fit.base[inside], axis=1) - RADIUS
    after = np.linalg.norm(result.fit.at(grown)[inside], axis=1) - (RADIUS + GROWTH)
    assert before.min() < -0.003
    assert (after - before).min() > -0.001


def test_what_does_not_follow_is_not_moved() -> None:
    fit = _shell()
    lower = fit.base[:, 1] < -0.05
    garment = replace(fit.garment, strength=np.where(lower, 0.0, 1.0))
    result = _repaired(replace(fit, garment=garment))
    assert np.abs(result.fit.base - fit.base)[lower].max() < 1e-5
    assert np.abs(result.fit.deltas)[:, lower].max() < 1e-5
    assert result.left_alone.any()
    assert np.abs(result.fit.deltas)[:, fit.base[:, 1] > 0.05].max() > 0.005


def test_a_mirrored_problem_has_the_mirrored_repair() -> None:
    result = _repaired(_shell(shift=0.004))
    vertices = _shell(shift=0.004).base
    mirror = np.array([-1.0, 1.0, 1.0])
    partner = np.argmin(np.linalg.norm((vertices * mirror)[:, None] - vertices[None], axis=2), axis=1)
    assert np.allclose(vertices[partner], vertices * mirror, atol=1e-12)
    for field in (result.fit.base, result.fit.deltas[0]):
        assert np.abs(field[partner] - field * mirror).max() < 5e-4


def test_cloth_pinned_between_two_bodies_is_reported_and_does_not_run_off() -> None:
    """A flat sheet between two balls that grow into each other: nothing can keep clear of both."""
    vertices, faces = ball(2)
    count = len(vertices)
    up = np.array([0.0, 0.11, 0.0])
    body = linear_mesh(
        np.concatenate([0.1 * vertices - up, 0.1 * vertices + up]),
        0.03 * np.concatenate([vertices, vertices])[None],
        np.concatenate([faces, faces + count]),
    )
    side = np.linspace(-0.1, 0.1, 15)
    grid = np.stack(np.meshgrid(side, [0.0], side, indexing="ij"), axis=-1).reshape(-1, 3)
    at = np.arange(14)[:, None] * 15 + np.arange(14)
    quads = np.stack([at, at + 1, at + 16, at + 15], axis=-1).reshape(-1, 4)
    sheet = Garment.of("sheet", grid, np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]]))
    fit = bare_fit(sheet, ("grow",), np.zeros((1, len(grid), 3)), following=FOLLOWING)
    result = keep_clear(fit, body, max_rounds=3)
    assert len(result.conflicts) > 0
    centres = grid[sheet.faces[result.conflicts[:, 0]]].mean(axis=1)
    assert np.hypot(centres[:, 0], centres[:, 2]).max() < 0.08
    assert (result.conflict_morphs == 0).all()
    assert (result.conflict_depth > 0).all()
    assert result.base_move[0] < 0.1


@pytest.mark.parametrize("margin", [0.0005, 0.0028])
def test_the_margin_is_that_of_the_following(margin: float) -> None:
    """Ball 0.1 → 0.12 in a shell of 0.11: 10 mm are missing, and the margin on top."""
    result = _repaired(replace(_shell(), following=Following(margin_mm=1e3 * margin)))
    outward = ball(3)[0]
    moved = np.einsum("vx,vx->v", result.fit.at(np.ones(1)) - _shell().base, outward)
    assert np.median(moved) == pytest.approx(GROWTH + margin - ROOM, abs=6e-4)
