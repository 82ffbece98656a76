"""The corners that are found are the worst of all corners, and what the closed form says of them is so."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.sweep.worst import Covered, covered_points, worst_shapes
from lift_phantoms import body_of, sphere

RADIUS, CLEARANCE = 0.2, 0.01
MARGIN = DEFAULT_FOLLOWING.margin
STILL = 0.0


def bumps(points: np.ndarray, count: int, *, size: float = 0.02, seed: int = 0) -> dict[str, np.ndarray]:
    """Radial morphs, each a smooth bump at a random place and a dent at another, so that no corner suits all points."""
    rng = np.random.default_rng(seed)
    centres = rng.normal(size=(2, count, 3))
    centres /= np.linalg.norm(centres, axis=2, keepdims=True)
    outward = points / np.linalg.norm(points, axis=1, keepdims=True)
    bump, dent = np.exp(8 * (centres @ outward.T - 1))
    return {f"bump {number}": height[:, None] * outward for number, height in enumerate(size * (bump - dent))}


def stiff_fit(body: Body, vertices: np.ndarray, faces: np.ndarray) -> Fit:
    """A garment that follows nothing: what the body does, it does to the clearance."""
    return Fit(
        body,
        Garment.of("shell", vertices, faces),
        DEFAULT_FOLLOWING,
        vertices,
        np.zeros((len(body.deltas), *vertices.shape)),
    )


def ball(count: int = 5, *, seed: int = 0) -> tuple[Body, Fit]:
    skin = sphere(RADIUS, rows=40, columns=60)
    body = body_of(skin, **bumps(skin[0], count, seed=seed))
    return body, stiff_fit(body, *sphere(RADIUS + CLEARANCE, rows=44, columns=66, twist=0.03))


def all_corners(box: Range) -> np.ndarray:
    return np.array(list(itertools.product(*zip(box.low, box.high))))


def threatened_volume(pairs: Covered, weights: np.ndarray) -> np.ndarray:
    """Area times depth under the margin, or under the clearance at weight 0 where that is less, per shape."""
    allowed = np.minimum(MARGIN, pairs.base)
    return np.maximum(allowed - pairs.at(weights), 0) @ pairs.areas


def test_a_shell_around_a_ball_covers_all_of_it_at_its_clearance() -> None:
    body, fit = ball()
    pairs = covered_points(fit)
    assert len(pairs.areas) == len(body.vertices)
    assert pairs.areas.sum() == pytest.approx(4 * np.pi * RADIUS**2, rel=0.01)
    assert np.allclose(pairs.base, CLEARANCE, atol=1.5e-3)  # the sagitta of triangles of 3 cm on a radius of 21 cm


def test_a_growing_ball_under_a_still_shell_loses_clearance_metre_by_metre() -> None:
    skin = sphere(RADIUS, rows=40, columns=60)
    body = body_of(skin, grow=0.1 * skin[0])
    pairs = covered_points(stiff_fit(body, *sphere(RADIUS + CLEARANCE, rows=44, columns=66)))
    assert np.allclose(pairs.slopes, -0.1 * RADIUS, atol=1e-6)


def test_cloth_inside_out_covers_the_same_skin() -> None:
    body, fit = ball()
    turned = stiff_fit(body, fit.base, np.ascontiguousarray(fit.garment.faces[:, ::-1]))
    assert np.allclose(covered_points(turned).base, covered_points(fit).base, atol=1e-12)


def test_cloth_that_has_sunk_in_is_paired_with_a_negative_clearance() -> None:
    body, _ = ball()
    sunk = covered_points(stiff_fit(body, *sphere(RADIUS - 0.005, rows=44, columns=66)))
    assert len(sunk.areas) > 0.9 * len(body.vertices)
    assert np.allclose(sunk.base, -0.005, atol=1.5e-3)


def test_skin_that_no_cloth_faces_is_not_covered() -> None:
    body, _ = ball()
    vertices, faces = sphere(RADIUS + CLEARANCE, rows=44, columns=66)
    upper = faces[(vertices[faces, 1] > 0).all(axis=1)]
    pairs = covered_points(stiff_fit(body, vertices, upper))
    assert pairs.areas.sum() == pytest.approx(2 * np.pi * RADIUS**2, rel=0.1)


@pytest.mark.parametrize("seed", range(10))
def test_the_first_corner_threatens_as_much_as_the_best_of_all_corners(seed: int) -> None:
    body, fit = ball(8, seed=seed)
    pairs = covered_points(fit)
    first = worst_shapes(fit)[0]
    best = threatened_volume(pairs, all_corners(body.range)).max()
    assert threatened_volume(pairs, first.shape.weights[None])[0] == pytest.approx(best, rel=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_the_corners_together_reach_every_point_s_own_depth(seed: int) -> None:
    body, fit = ball(8, seed=seed)
    pairs = covered_points(fit)
    weights = np.array([threat.shape.weights for threat in worst_shapes(fit)])
    allowed = np.minimum(MARGIN, pairs.base)
    reachable = np.maximum(allowed - body.range.minimum(pairs.base, pairs.slopes), 0) @ pairs.areas
    reached = np.maximum(allowed - pairs.at(weights).min(axis=0), 0) @ pairs.areas
    assert reached > 0.95 * reachable


def test_no_shape_at_random_threatens_more_than_the_first_corner() -> None:
    _, fit = ball(12, seed=3)
    pairs = covered_points(fit)
    first = worst_shapes(fit)[0]
    random = np.random.default_rng(1).random((2000, 12))
    assert threatened_volume(pairs, random).max() < threatened_volume(pairs, first.shape.weights[None])[0]


def test_what_is_said_of_a_corner_is_what_its_shape_shows() -> None:
    body, fit = ball(5, seed=2)
    pairs = covered_points(fit)
    for threat in worst_shapes(fit):
        clearance = pairs.at(threat.shape.weights[None])[0]
        assert threat.min_clearance == pytest.approx(clearance.min(), abs=1e-12)
        assert threat.threatened_area == pytest.approx(pairs.areas[clearance < MARGIN].sum(), rel=1e-12)
        skin = np.linalg.norm(body.at(threat.shape.weights), axis=1).max()
        # A bump's crest moves along its own normal, so the clearance left there is that of the radii.
        assert threat.min_clearance == pytest.approx(RADIUS + CLEARANCE - skin, abs=1e-3)


def test_a_wider_margin_of_the_following_counts_more_skin_as_threatened() -> None:
    skin = sphere(RADIUS)
    body = body_of(skin, grow=0.02 * skin[0])  # 4 mm of the 10 mm between skin and shell
    fit = stiff_fit(body, *sphere(RADIUS + CLEARANCE))
    narrow = worst_shapes(fit)[0]
    wide = worst_shapes(replace(fit, following=replace(fit.following, margin_mm=8.0)))[0]
    assert narrow.threatened_area == 0
    assert wide.threatened_area == pytest.approx(4 * np.pi * RADIUS**2, rel=0.01)


def test_corners_are_numbered_differ_and_lie_in_a_range_beyond_one() -> None:
    body, fit = ball(6, seed=5)
    box = Range(body.morph_names, np.full(6, -0.5), np.full(6, 1.5))
    threats = worst_shapes(replace(fit, body=replace(body, range=box)), most=4)
    assert [threat.shape.label for threat in threats] == [f"worst {number}" for number in range(1, len(threats) + 1)]
    assert 1 < len(threats) <= 4
    weights = np.array([threat.shape.weights for threat in threats])
    assert np.all((weights == -0.5) | (weights == 1.5) | (weights == STILL))
    assert len(np.unique(weights, axis=0)) == len(threats)


def test_cloth_that_no_shape_comes_near_is_checked_where_it_is_nearest() -> None:
    skin = sphere(RADIUS)
    body = body_of(skin, grow=0.05 * skin[0], shrink=-0.05 * skin[0])
    threats = worst_shapes(stiff_fit(body, *sphere(RADIUS + 0.08)))
    assert [threat.shape.weights.tolist() for threat in threats] == [[1.0, 0.0]]
    assert threats[0].threatened_area == 0
    assert threats[0].min_clearance == pytest.approx(0.08 - 0.05 * RADIUS, abs=4e-3)


def test_what_lies_in_the_skin_already_is_not_blamed_on_a_shape() -> None:
    skin = sphere(RADIUS)
    body = body_of(skin, shrink=-0.05 * skin[0])
    threats = worst_shapes(stiff_fit(body, *sphere(RADIUS - 0.003)))
    assert threats[0].threatened_area == 0


def test_a_body_without_morphs_or_an_empty_wish_has_no_worst_shape() -> None:
    _, fit = ball(2)
    assert worst_shapes(fit, most=0) == []
    still = body_of(sphere(RADIUS))
    assert worst_shapes(stiff_fit(still, *sphere(RADIUS + CLEARANCE))) == []
