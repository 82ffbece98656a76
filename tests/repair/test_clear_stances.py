"""Repair over stances: what bends clear stays clear at rest, and what stances oppose is told, not chased."""

from functools import cache

import numpy as np
import pytest

from bent_limb import bent, limb, sleeve
from dressform.fit.fit import Fit
from dressform.proof.at_stance import certify_stances
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth, posed
from dressform.repair.clear import clear_stances
from dressform.repair.clear.clear_stances import StanceRound
from dressform.repair.clear.clearance import Clearance, keep_clear
from dressform.repair.clear.clearance_case import State
from dressform.repair.clear.stance_planes import StanceState


@cache
def straight() -> Fit:
    """A sleeve whose joint weights have a shorter ramp than the skin's: bent, it sinks in on one side."""
    return sleeve(limb(rings=31, sides=20), ramp=0.05, clearance=0.003, rings=21, sides=20)


@cache
def mended(degrees: float) -> Clearance:
    fit = straight()
    return keep_clear(fit, linear_body(fit.body), stances=[bent(degrees)])


def test_sleeve_that_sank_in_when_bent_is_certified_after_repair() -> None:
    fit, stance = straight(), bent(50)
    (before,) = certify_stances(fit, [stance])
    (after,) = certify_stances(mended(50).fit, [stance])
    assert before.share < 0.9
    assert after.share == 1.0
    assert not after.sunk.any()
    (told,) = mended(50).stances
    assert told.short_after < told.short_before
    assert told.depth_after < told.depth_before


def test_nothing_gained_at_rest_is_lost() -> None:
    fit = straight()
    end = mended(50).fit
    body = linear_body(fit.body)
    assert certify(linear_cloth(keep_clear(fit, body).fit), body, fit.body.range).share == 1.0
    assert certify(linear_cloth(end), body, fit.body.range).share == 1.0


def test_no_stances_change_nothing_about_the_repair_at_rest() -> None:
    fit = straight()
    body = linear_body(fit.body)
    plain, none = keep_clear(fit, body), keep_clear(fit, body, stances=())
    assert np.array_equal(plain.fit.base, none.fit.base)
    assert none.stances == ()


def test_stance_that_asks_nothing_costs_nothing() -> None:
    fit = sleeve(limb(rings=31, sides=20), rings=21, sides=20)
    body = linear_body(fit.body)
    plain, clear = keep_clear(fit, body), keep_clear(fit, body, stances=[bent(20)])
    assert np.array_equal(plain.fit.base, clear.fit.base)
    (told,) = clear.stances
    assert (told.short_before, told.given_way) == (0, 0)


def test_demand_that_is_too_dear_gives_way_and_is_told_with_its_price(monkeypatch: pytest.MonkeyPatch) -> None:
    fit = straight()
    monkeypatch.setattr(clear_stances, "STANCE_CAP", 1e-3)
    end = keep_clear(fit, linear_body(fit.body), stances=[bent(50)])
    (told,) = end.stances
    assert told.given_way > 0
    assert 0.98e-3 < told.price <= 1.001e-3
    assert told.short_after > 0
    assert end.base_move[0] < mended(50).base_move[0]
    body = linear_body(fit.body)
    assert certify(linear_cloth(end.fit), body, fit.body.range).share == 1.0


def test_demand_at_a_stance_is_one_along_the_transposed_blend_at_rest() -> None:
    """n · A (x + m) = n · A x + (Aᵀ n) · m, to 1e-12: the row that the programme gets."""
    fit, rng = straight(), np.random.default_rng(2)
    maps = bent(70).maps(fit.skin, fit.body.skeleton)
    n, move = rng.normal(size=(len(fit.base), 3)), 0.01 * rng.normal(size=(len(fit.base), 3))
    before = posed(linear_cloth(fit), maps).terms[:, 0]
    moved = np.einsum("vij,vj->vi", maps[:, :, :3], fit.base + move) + maps[:, :, 3]
    rows = np.einsum("vij,vi->vj", maps[:, :, :3], n)
    gained = np.einsum("vx,vx->v", moved - before, n)
    assert gained == pytest.approx(np.einsum("vx,vx->v", rows, move), abs=1e-12)


def test_what_one_stance_loses_outweighs_what_another_gains() -> None:
    """1 mm gained over all is worth nothing where one stance loses 2 mm and another gains 3."""

    def standing(*short: float) -> StanceRound:
        none, pair = np.zeros((0, 2), dtype=np.int64), np.zeros((1, 2), dtype=np.int64)
        cloth, empty = linear_cloth(straight()), np.zeros(0, dtype=np.int64)
        states = tuple(
            StanceState(cloth, pair, np.array([one]), np.zeros((1, 3)), empty, (empty, np.zeros((0, 3))), np.zeros(0),
                        np.zeros((0, 3)))
            for one in short
        )  # fmt: skip
        rest = State(straight(), cloth, None, empty, none, np.zeros(0), np.zeros((0, 3)))
        return StanceRound(rest, states, (0, 0), (0.0, 0.0))

    first = standing(0.004, 0.001)
    assert first.price_against(first) == pytest.approx(0.005)
    assert standing(0.001, 0.003).short < first.short
    assert standing(0.001, 0.003).price_against(first) > first.price_against(first)
    assert standing(0.003, 0.001).price_against(first) < first.price_against(first)
