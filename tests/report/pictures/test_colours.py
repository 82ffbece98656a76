import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.report.pictures.colours import (
    CHANGE_STOPS,
    CLOTH_STOPS,
    SKIN_STOPS,
    Scale,
    decode_srgb,
    encode_srgb,
    oklab_to_linear,
)

# Linear-light simulation of a missing cone: rows of the projection onto the colours that remain (Viénot, Brettel and
# Mollon 1999, from memory).
DEUTERANOPIA = np.array([[0.29275, 0.70725, -0.02234], [0.29275, 0.70725, -0.02234], [-0.02234, 0.02234, 1.0]])
PROTANOPIA = np.array([[0.11238, 0.88762, 0.0], [0.11238, 0.88762, 0.0], [0.00401, -0.00401, 1.0]])


def test_lightness_one_is_the_white_of_srgb_and_a_grey_stays_grey() -> None:
    np.testing.assert_allclose(oklab_to_linear(np.array([[1.0, 0, 0]])), 1.0, atol=2e-6)
    np.testing.assert_allclose(oklab_to_linear(np.array([[0.5, 0, 0]])), 0.125, atol=2e-6)


def test_red_of_srgb_has_its_published_place() -> None:
    np.testing.assert_allclose(
        oklab_to_linear(np.array([[0.6279554, 0.2248631, 0.1258463]])), [[1.0, 0.0, 0.0]], atol=1e-5
    )


@pytest.mark.parametrize("stops", [CLOTH_STOPS, SKIN_STOPS, CHANGE_STOPS])
def test_every_colour_of_a_scale_lies_inside_srgb(stops: tuple[tuple[float, float, float], ...]) -> None:
    knots = np.linspace(0, 1, len(stops))
    lab = np.stack([np.interp(np.linspace(0, 1, 201), knots, channel) for channel in np.array(stops).T], axis=1)
    linear = oklab_to_linear(lab)
    assert linear.min() >= 0
    assert linear.max() <= 1


@pytest.mark.parametrize("missing", [np.eye(3), DEUTERANOPIA, PROTANOPIA])
def test_lightness_falls_with_the_value_also_for_colour_blind_eyes(missing: np.ndarray) -> None:
    linear = decode_srgb(Scale(0.0, 1.0).colours(np.linspace(0, 1, 21))) @ missing.T
    luminance = linear @ np.array([0.2126, 0.7152, 0.0722])
    assert np.all(np.diff(luminance) < -0.005)


@pytest.mark.parametrize("missing", [DEUTERANOPIA, PROTANOPIA])
def test_gain_and_loss_of_ease_differ_also_for_colour_blind_eyes(missing: np.ndarray) -> None:
    loss, gain = decode_srgb(Scale(-1.0, 1.0, CHANGE_STOPS).colours(np.array([-1.0, 1.0]))) @ missing.T
    assert loss[2] - loss[0] > 0.2
    assert gain[0] - gain[2] > 0.05


def test_values_outside_take_the_colours_of_the_ends() -> None:
    scale = Scale(2.0, 4.0)
    np.testing.assert_array_equal(scale.colours(np.array([-9.0, 9.0])), scale.colours(np.array([2.0, 4.0])))


def test_srgb_encoding_and_decoding_are_inverse() -> None:
    values = np.linspace(0, 1, 300).reshape(-1, 3)
    np.testing.assert_allclose(encode_srgb(decode_srgb(values)), values, atol=1e-6)


def test_an_empty_scale_is_refused() -> None:
    with pytest.raises(ArgumentError, match=r"`high` must be above low \(1\), got 1"):
        Scale(1.0, 1.0)
