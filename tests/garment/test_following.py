"""One record says how a garment follows; what it cannot mean is refused, and no numerics are loaded to make one."""

import subprocess
import sys

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.garment.following import DEFAULT_FOLLOWING, METHODS, Following


def test_lengths_are_said_in_millimetres_and_used_in_metres() -> None:
    following = Following(margin_mm=3.5, falloff_mm=12.0)
    assert (following.margin, following.falloff) == (0.0035, 0.012)


def test_the_smooth_method_turns_by_half_and_the_others_do_not() -> None:
    own = {method: Following(method=method).effective_rotation_share for method in METHODS}
    assert own == {"nearest": 0.0, "nearest-three": 0.0, "surface": 0.0, "smooth": 0.5}


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("share", [0.0, 0.25, 1.0])
def test_a_rotation_share_that_is_given_is_in_force(method: str, share: float) -> None:
    assert Following(method=method, rotation_share=share).effective_rotation_share == share


def test_two_that_say_the_same_are_equal_and_a_mask_counts_number_by_number() -> None:
    mask = np.linspace(0.0, 1.0, 5)
    assert Following(mask=mask) == Following(mask=mask.copy())
    assert Following(mask=mask) != Following(mask=mask[::-1].copy())
    assert Following(mask=mask) != Following(mask="COLOR_0.r") != Following()
    assert Following(strength=0.5) != Following()


def test_it_prints_what_is_not_as_always_and_no_arrays() -> None:
    assert repr(DEFAULT_FOLLOWING) == "Following(method='smooth', margin_mm=2)"
    shown = repr(Following(method="surface", margin_mm=4.0, mask=np.ones(9000)))
    assert shown == "Following(method='surface', mask=<9000 numbers>, margin_mm=4)"


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (
            {"method": "near"},
            r"`method` must be one of nearest, nearest-three, surface, smooth, file, .* got 'near'",
        ),
        ({"ease": "loose"}, r"`ease` must be one of keep, scale, got 'loose'"),
        ({"joint_weights": "best"}, r"`joint_weights` must be one of own, lifted, .*, none, got 'best'"),
        ({"rotation_share": 1.5}, r"`rotation_share` must be in \[0, 1\], got 1.5"),
        ({"strength": -0.1}, r"`strength` must be in \[0, 1\], got -0.1"),
        ({"strength": float("nan")}, r"`strength` must be in \[0, 1\], got nan"),
        ({"parts": {"collar": 2.0}}, r"`parts\['collar'\]` must be in \[0, 1\], got 2"),
        ({"mask": np.array([0.5, 1.5])}, r"`mask\[1\]` must be in \[0, 1\], got 1.5"),
        ({"mask": np.array([0.5, np.nan])}, r"`mask\[1\]` must be in \[0, 1\], got nan"),
        ({"falloff_mm": -1.0}, r"`falloff_mm` must be 0 to 1000 mm, got -1"),
        ({"margin_mm": 0.0}, r"`margin_mm` must be above 0 and at most 100 mm, got 0. Give for instance 2"),
        ({"margin_mm": float("inf")}, r"`margin_mm` must be above 0 and at most 100 mm, got inf"),
        ({"margin_mm": 100.5}, r"`margin_mm` must be above 0 and at most 100 mm, got 100.5"),
        ({"falloff_mm": 1001}, r"`falloff_mm` must be 0 to 1000 mm, got 1001"),
    ],
)
def test_what_it_cannot_mean_is_refused(said: dict, words: str) -> None:
    with pytest.raises(ArgumentError, match=f"Following: {words}"):
        Following(**said)


def test_making_one_loads_neither_scipy_nor_numba() -> None:
    code = (
        "import sys; from dressform.garment.following import Following; Following(margin_mm=2)\n"
        "print([name for name in ('scipy', 'numba') if name in sys.modules])"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ended.stdout.strip() == "[]"
