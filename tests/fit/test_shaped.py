"""A fit known shape by shape: the method's word where it spoke, its best linear approximation elsewhere."""

import pickle
from dataclasses import replace

import numpy as np
import pytest

from dressform.body.shapes import Shape, sobol_shapes
from dressform.body.stance import Stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.follow import follower_of
from dressform.fit.make import make_fit
from dressform.fit.posed import posed_fit
from dressform.fit.shaped import ShapedFit, best_linear
from limbs import bend, limb, sleeve, sleeved
from phantoms import phantom_body, phantom_tube


def squared(amount: float) -> ShapedFit:
    """The tube as lifted, but that the belly lifts it by `amount` times the square of its weight, metres."""
    made = make_fit(phantom_body(), phantom_tube())

    def ask(weights: np.ndarray, _: object) -> np.ndarray:
        return made.at(weights) + np.array([0.0, amount * weights[0] ** 2, 0.0])

    return ShapedFit(made.body, made.garment, made.following, made.base, made.deltas, ask=ask)


def test_a_linear_method_is_recovered_and_a_square_departs_as_it_must() -> None:
    """The line that comes nearest to w² at 0, ½ and 1 by least squares, through 0, is w·9/10."""
    fit = squared(0.1)
    asked = [np.array([belly, girth, 0.0]) for belly in (0.0, 0.5, 1.0) for girth in (-1.0, 1.0)]
    asked.append(np.array([0.0, 0.0, 1.0]))
    deltas = best_linear(fit.base, [(one, fit.at(one)) for one in asked])
    linear = make_fit(fit.body, fit.garment)
    assert np.allclose(deltas[1:], linear.deltas[1:], atol=1e-12)
    assert np.allclose(deltas[0] - linear.deltas[0], [0.0, 0.09, 0.0], atol=1e-12)
    shaped = replace(fit, deltas=deltas)
    assert shaped.departure(np.array([1.0, 0.0, 0.0])).max() == pytest.approx(0.01)
    assert shaped.departure(np.array([0.5, 1.0, 0.0])).max() == pytest.approx(0.02)


def test_another_process_knows_what_was_told_and_falls_back_on_the_linear_approximation_elsewhere() -> None:
    fit = squared(0.1)
    known, unknown = sobol_shapes(fit.body.range, 2)
    fit.learn([known])
    other = pickle.loads(pickle.dumps(replace(fit, garment=replace(fit.garment, source=None))))
    assert np.array_equal(other.at(known.weights), fit.at(known.weights))
    assert np.allclose(other.at(unknown.weights), fit.linear.at(unknown.weights))
    assert np.abs(fit.at(unknown.weights) - other.at(unknown.weights)).max() > 1e-3


def test_another_linear_fit_keeps_the_departures() -> None:
    fit = squared(0.1)
    shape = Shape("belly", np.array([1.0, 0.0, 0.0]))
    fit.learn([shape])
    still = replace(fit.linear, deltas=0.0 * fit.deltas)
    moved = fit.on(still, lambda moved: moved).at(shape.weights) - fit.base
    assert np.allclose(moved, [0.0, 0.1, 0.0], atol=1e-12)


def test_a_method_that_poses_the_cloth_itself_is_taken_at_its_word_at_a_stance() -> None:
    body, cloth = limb(along=9, around=8), sleeve(along=9, around=8)
    made, stance, raised = sleeved(body, cloth), bend(60.0), np.array([0.0, 0.01, 0.0])

    def ask(weights: np.ndarray, there: Stance | None) -> np.ndarray:
        return made.at(weights) if there is None else posed_fit(made, there).at(weights) + raised

    fit = ShapedFit(body, cloth, made.following, made.base, made.deltas, made.skin, ask=ask, has_poses=True)
    weights = np.array([0.5, 1.0])
    plain = GarmentOnBody(made).look(weights, stance).cloth
    assert np.allclose(GarmentOnBody(fit).look(weights, stance).cloth - plain, raised, atol=1e-12)
    assert np.allclose(posed_fit(fit, stance).at(weights) - plain, raised, atol=1e-12)
    carried = replace(fit, has_poses=False, told={}, told_posed={})
    assert np.allclose(GarmentOnBody(carried).look(weights, stance).cloth, plain, atol=1e-12)


def test_live_following_asks_the_method_and_a_linear_fit_is_followed_as_ever() -> None:
    fit = squared(0.1)
    weights = np.array([0.5, 1.0, 0.0])
    live, plain = follower_of(fit), follower_of(fit.linear)
    assert np.allclose(live.at(weights) - plain.at(weights), [0.0, 0.025, 0.0], atol=1e-6)
    assert np.array_equal(live.many(weights[None])[0], live.at(weights))
