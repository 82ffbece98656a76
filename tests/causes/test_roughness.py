"""Noise is told from form, and taken away without the form."""

import numpy as np
import pytest

import lift_phantoms
from dressform.causes.roughness import BRUSH, MIN_NOISE, Brush
from phantoms import RADIUS, phantom_body

BODY = phantom_body(rings=64, sides=96)
NORMALS = np.column_stack([BODY.vertices[:, 0], 0.0 * BODY.vertices[:, 0], BODY.vertices[:, 2]]) / RADIUS


def swelling(reach: float) -> np.ndarray:
    middle = np.array([0.0, BODY.vertices[:, 1].mean(), RADIUS])
    away = np.linalg.norm(BODY.vertices - middle, axis=1) / reach
    return np.exp(-(away**2))[:, None] * np.array([0.0, 0.0, 0.03])


def test_a_smooth_swelling_is_even_and_keeps_its_height() -> None:
    brush, field = Brush(BODY.vertices, BODY.faces), swelling(0.08)
    assert np.median(brush.noise(field)) < MIN_NOISE
    lost = np.abs(brush.smoothed(field) - field).max() / 0.03
    assert lost <= 3.0 * (4.0 * BRUSH**2 / 0.08**2) ** 2 + 0.01


@pytest.mark.parametrize("size", [0.001, 0.003])
def test_noise_is_told_by_its_size_and_smoothed_away(size: float) -> None:
    brush = Brush(BODY.vertices, BODY.faces)
    noise = size * np.random.default_rng(4).normal(size=(len(BODY.vertices), 1)) * NORMALS
    level = float(np.median(brush.noise(swelling(0.08) + noise)))
    assert 0.5 * size < level < 2.0 * size
    left = brush.smoothed(noise)
    assert np.sqrt((left**2).sum(axis=1).mean()) < 0.4 * size


def test_a_tight_bend_is_no_noise() -> None:
    """A finger of 16 mm that curls within 2 cm: its skin is as uneven as noise of a third of a millimetre."""
    body = lift_phantoms.finger()
    brush, curl = Brush(body.vertices, body.faces), body.deltas[0]
    thin = np.hypot(body.vertices[:, 0], body.vertices[:, 2]) < 0.012
    hinge = thin & (body.vertices[:, 1] > 0.075) & (body.vertices[:, 1] < 0.11)
    assert np.percentile(brush.noise(curl)[hinge], 75) > MIN_NOISE
    assert not brush.is_noise(curl, hinge)
    noise = 0.001 * np.random.default_rng(4).normal(size=body.vertices.shape)
    assert brush.is_noise(noise, hinge)
    flat = Brush(BODY.vertices, BODY.faces)
    rough = swelling(0.08) + 0.001 * np.random.default_rng(4).normal(size=(len(BODY.vertices), 1)) * NORMALS
    assert flat.is_noise(rough, np.linalg.norm(swelling(0.08), axis=1) > 0.003)


def test_smoothing_is_linear() -> None:
    brush, rng = Brush(BODY.vertices, BODY.faces), np.random.default_rng(5)
    one, other = rng.normal(size=(2, len(BODY.vertices), 3))
    np.testing.assert_allclose(
        brush.smoothed(2.0 * one - other), 2.0 * brush.smoothed(one) - brush.smoothed(other), atol=1e-9
    )
