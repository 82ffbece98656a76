"""The search for worst shapes where nothing is linear."""

from dataclasses import replace

import numpy as np

from dressform.fit.make import make_fit
from dressform.fit.shaped import ShapedFit
from dressform.sweep.worst_asked import searched_shapes, worst_of
from phantoms import phantom_body, phantom_tube


def shrinking(peak: float) -> ShapedFit:
    """The tube as lifted, but drawn in by 4 cm where the girth is at `peak`, less and less away from it."""
    made = make_fit(phantom_body(), phantom_tube())
    inward = -made.base * np.array([1.0, 0.0, 1.0])
    inward /= np.linalg.norm(inward, axis=1, keepdims=True)

    def ask(weights: np.ndarray, _: object) -> np.ndarray:
        return made.at(weights) + 0.04 * max(0.0, 1.0 - 4.0 * abs(weights[1] - peak)) * inward

    return ShapedFit(made.body, made.garment, made.following, made.base, made.deltas, ask=ask)


def test_the_search_finds_a_worst_shape_inside_the_range() -> None:
    found = searched_shapes(shrinking(0.5))
    assert found[0].shape.weights[1] == 0.5
    assert found[0].min_clearance < -0.015
    assert found[0].threatened_area > 0.5


def test_a_method_that_cannot_be_asked_is_judged_by_what_it_said() -> None:
    fit = shrinking(0.5)
    fit.at(np.array([0.0, 0.45, 0.0]))
    silent = replace(fit, ask=None)
    assert np.allclose(searched_shapes(silent)[0].shape.weights, [0.0, 0.45, 0.0])


def test_a_linear_fit_is_left_to_the_closed_form() -> None:
    made = make_fit(phantom_body(), phantom_tube())
    assert [one.shape.label for one in worst_of(made, most=1)] == ["worst 1"]
