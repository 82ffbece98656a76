"""A stiff end keeps its form and its room on the whole way of a curl, not at its end alone."""

from functools import cache

import numpy as np

import lift_phantoms
from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from dressform.repair.whole.rigid import Turned, fit_turned
from dressform.repair.whole.seated import WAY, StiffEnd, seated, stiff_end

ALL, ONE = np.ones(1, dtype=bool), np.ones(1)


@cache
def dressed() -> Fit:
    return make_fit(lift_phantoms.finger(), lift_phantoms.stall())


def skin(body: Body) -> Tree:
    return Tree(body.vertices, body.faces)


@cache
def turned() -> Turned:
    """The turn of the last four centimetres of the finger."""
    body = dressed().body
    tip = np.flatnonzero(body.vertices[:, 1] > 0.09)
    return fit_turned(body.vertices[tip], np.ones(len(tip)), body.deltas[:, tip], ONE)


@cache
def sat() -> Turned:
    core = np.ones(len(dressed().base), dtype=bool)
    return seated(dressed(), turned(), core=core, morphs=ALL, far=ONE, tree=skin(dressed().body))


def end() -> StiffEnd:
    fit = dressed()
    return stiff_end(fit, turned().centre, np.arange(len(fit.base)), 1.0, 0, skin(fit.body))


def most_strain(motion: Turned) -> float:
    """The largest |ln| of a stretch on the way."""
    ways = np.linspace(0.0, 1.0, 21)
    stretches = [np.linalg.svd(np.eye(3) + way * motion.maps[0], compute_uv=False) for way in ways]
    return float(np.abs(np.log(stretches)).max())


def least_room(motion: Turned) -> float:
    """The least clearance on the way, metres."""
    fit = dressed()
    found = []
    for way in WAY:
        tree = skin(fit.body).refit(fit.body.vertices + way * fit.body.deltas[0])
        found.append(signed_clearance(tree, fit.base + way * motion.moves(fit.base)[0])[0].min())
    return float(min(found))


def test_a_turn_is_shorter_half_way_and_a_seated_one_by_less() -> None:
    angle = np.arccos(0.5 * (np.trace(np.eye(3) + turned().maps[0]) - 1.0))
    assert abs(most_strain(turned()) + np.log(np.cos(0.5 * angle))) < 0.01  # the way passes the chord's middle
    assert most_strain(sat()) < 0.67 * most_strain(turned())


def test_the_skin_stays_inside_a_seated_end() -> None:
    assert least_room(turned()) < -0.001
    assert least_room(sat()) > least_room(turned()) + 0.001


def test_derivatives_are_those_of_finite_differences() -> None:
    one, rng = end(), np.random.default_rng(3)
    motion = np.concatenate([turned().maps[0].ravel(), turned().shifts[0]]) + 0.001 * rng.normal(size=12)
    _, slopes = one.terms(motion)
    step = 1e-6 * rng.normal(size=12)
    ahead, behind = (one.terms(motion + sign * step)[0] for sign in (1.0, -1.0))
    assert np.abs(0.5 * (ahead - behind) - slopes @ step).max() < 1e-4 * np.abs(slopes @ step).max()


def test_seating_never_raises_what_it_lessens() -> None:
    one = end()
    sums = [
        float((one.terms(np.concatenate([motion.maps[0].ravel(), motion.shifts[0]]))[0] ** 2).sum())
        for motion in (turned(), sat())
    ]
    assert sums[1] < 0.5 * sums[0]


def test_a_map_that_is_no_turn_stays_as_it_is() -> None:
    fit = dressed()
    grown = Turned(np.zeros(3), np.zeros((1, 3)), 0.2 * np.eye(3)[None])
    core = np.ones(len(fit.base), dtype=bool)
    result = seated(fit, grown, core=core, morphs=ALL, far=ONE, tree=skin(fit.body))
    np.testing.assert_array_equal(result.maps, grown.maps)
    np.testing.assert_array_equal(result.shifts, grown.shifts)


def test_a_morph_on_which_the_end_does_not_move_by_itself_stays_as_it_is() -> None:
    fit = dressed()
    core = np.ones(len(fit.base), dtype=bool)
    result = seated(fit, turned(), core=core, morphs=~ALL, far=ONE, tree=skin(fit.body))
    np.testing.assert_array_equal(result.maps, turned().maps)
