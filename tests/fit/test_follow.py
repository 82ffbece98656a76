"""Live following gives what the fit says, one shape or many at a time."""

import numpy as np
import pytest

from dressform.errors import MatchError
from dressform.fit.fit import Fit
from dressform.fit.follow import Follower
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from lift_phantoms import body_of, tube

MORPHS = 40
TOLERANCE = 1e-5  # metres
HEIGHT = np.array([0.0, 1.5, 0.0])  # where coordinates are as large as on a person


@pytest.fixture(scope="module")
def fit() -> Fit:
    rng = np.random.default_rng(3)
    vertices, faces = tube(0.12, 0.6, 0.02, jitter=0.3)
    waves = rng.uniform(-20, 20, (MORPHS, 3))
    deltas = {f"m{k}": 0.03 * np.sin(vertices @ wave)[:, None] * rng.normal(size=3) for k, wave in enumerate(waves)}
    sleeve, triangles = tube(0.14, 0.4, 0.02, jitter=0.3, seed=1)
    return make_fit(body_of((vertices + HEIGHT, faces), **deltas), Garment.of("sleeve", sleeve + HEIGHT, triangles))


def test_live_following_agrees_with_the_fit_over_a_thousand_shapes(fit: Fit) -> None:
    rng = np.random.default_rng(11)
    follower = Follower(fit)
    for shape in range(1000):
        weights = rng.uniform(-1, 2, MORPHS)
        weights[rng.random(MORPHS) < rng.random()] = 0.0  # from all morphs active to nearly none
        apart = np.abs(follower.at(weights) - fit.at(weights)).max()
        assert apart < TOLERANCE, f"shape {shape}"


def test_many_shapes_at_once_are_each_what_one_alone_is(fit: Fit) -> None:
    shapes = np.random.default_rng(12).uniform(-1, 2, (64, MORPHS))
    together = Follower(fit).many(shapes)
    assert together.dtype == np.float32
    for weights, cloth in zip(shapes, together):
        assert np.abs(cloth - fit.at(weights)).max() < TOLERANCE


def test_at_weights_zero_the_cloth_is_the_base(fit: Fit) -> None:
    assert np.array_equal(Follower(fit).at(np.zeros(MORPHS)), fit.base.astype(np.float32))


def test_following_one_shape_leaves_the_last_untouched(fit: Fit) -> None:
    follower = Follower(fit)
    first = follower.at(np.ones(MORPHS))
    kept = first.copy()
    follower.at(-np.ones(MORPHS))
    assert np.array_equal(first, kept)


def test_the_body_itself_is_followed_as_its_own_sum_says() -> None:
    rng = np.random.default_rng(13)
    vertices, faces = tube(0.12, 0.6, 0.02, jitter=0.3)
    deltas = {f"m{k}": 0.05 * rng.normal(size=vertices.shape) for k in range(12)}
    body = body_of((vertices + HEIGHT, faces), **deltas)
    follower = Follower.of_body(body)
    for weights in rng.uniform(-1, 2, (50, 12)) * (rng.random((50, 12)) < 0.5):
        assert np.abs(follower.at(weights) - body.at(weights)).max() < TOLERANCE


def test_a_body_without_morphs_stands_as_it_is() -> None:
    vertices, faces = tube(0.12, 0.6, 0.02, jitter=0.3)
    follower = Follower.of_body(body_of((vertices + HEIGHT, faces)))
    still = (vertices + HEIGHT).astype(np.float32)
    assert np.array_equal(follower.at(np.zeros(0)), still)
    assert np.array_equal(follower.many(np.zeros((3, 0))), np.stack([still] * 3))


def test_weights_of_another_body_are_refused(fit: Fit) -> None:
    with pytest.raises(MatchError, match="one weight for each of 40 morphs, got 3"):
        Follower(fit).at(np.zeros(3))
    with pytest.raises(MatchError, match="one weight for each of 40 morphs, got 3"):
        Follower(fit).many(np.zeros((2, 3)))
