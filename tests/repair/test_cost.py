"""The cost of a repair is the distance moved, and the pucker before and after, over the base and the ends."""

from dataclasses import replace

import numpy as np
import pytest

from bare import bare_body
from dressform.body.range import Range
from dressform.errors import MatchError
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.repair.cost import cost_of, shapes_of_cost
from meshes import sheet

BOX = Range(("one", "two"), np.array([-2.0, 0.0]), np.array([1.0, 0.5]))


def _fit() -> Fit:
    vertices, faces = sheet(31)
    garment = Garment.of("sheet", 0.3 * vertices, faces)
    rise = 0.01 * np.sin(40.0 * garment.vertices[:, 0])
    deltas = np.stack([np.stack([0 * rise, 0 * rise, rise], axis=1), 0.1 * garment.vertices])
    return Fit(bare_body(BOX.names, box=BOX), garment, DEFAULT_FOLLOWING, garment.vertices, deltas)


def test_a_shift_costs_its_length_and_no_pucker() -> None:
    fit = _fit()
    cost = cost_of(fit, replace(fit, base=fit.base + np.array([0.003, 0.0, 0.004])))
    assert cost.largest_move == pytest.approx(0.005)
    assert cost.rms_move == pytest.approx(0.005)
    assert cost.pucker_before > 0
    assert cost.pucker_after == pytest.approx(cost.pucker_before, rel=1e-9)


def test_a_delta_costs_what_it_moves_at_the_far_end_of_its_interval() -> None:
    fit = _fit()
    lifted = np.zeros((2, len(fit.base), 3))
    half = fit.base[:, 0] < 0.149
    lifted[0, half, 1] = 0.01
    cost = cost_of(fit, replace(fit, deltas=fit.deltas + lifted))
    assert cost.largest_move == pytest.approx(0.02)
    assert cost.rms_move == pytest.approx(0.02 * np.sqrt(0.5), rel=0.03)


def test_the_pucker_is_that_of_the_morphs_that_have_it() -> None:
    fit = _fit()
    smooth = replace(fit, deltas=np.concatenate([0 * fit.deltas[:1], fit.deltas[1:]]))
    cost = cost_of(fit, smooth)
    assert cost.pucker_after < 1e-12
    assert cost.pucker_ratio < 1e-9
    single = Range(BOX.names, np.zeros(2), np.array([0.0, 0.5]))
    assert cost_of(fit, fit, box=single).pucker_before < 1e-12


def test_shapes_are_the_base_and_every_end_once() -> None:
    found = [tuple(weights) for weights in shapes_of_cost(BOX)]
    assert found == [(0.0, 0.0), (-2.0, 0.0), (1.0, 0.0), (0.0, 0.5)]


def test_added_vertices_have_no_move() -> None:
    fit = _fit()
    count = len(fit.base)
    vertices = np.concatenate([fit.base, [[0.5, 0.5, 0.5]]])
    garment = Garment.of("sheet", vertices, fit.garment.faces)
    deltas = np.concatenate([fit.deltas, np.ones((2, 1, 3))], axis=1)
    assert cost_of(fit, Fit(fit.body, garment, fit.following, vertices, deltas)).largest_move == 0.0
    assert len(vertices) == count + 1


def test_fits_of_different_bodies_are_refused() -> None:
    fit = _fit()
    other = replace(fit, body=bare_body(("one",)), deltas=fit.deltas[:1])
    with pytest.raises(MatchError, match="`after` must have the 2 morphs and at least the 961 vertices"):
        cost_of(fit, other)
