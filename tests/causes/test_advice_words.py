"""Lengths, numbers and places as people say them."""

import pytest
from msgspec import structs

from dressform.causes.advice_words import (
    counted,
    length,
    percent,
    place_words,
    quoted,
    region_words,
    shape_words,
)
from explanations import cluster
from findings import place


@pytest.mark.parametrize(
    ("metres", "down", "told"),
    [
        (0.0412, False, "41 mm"),
        (0.00492, False, "4.9 mm"),
        (0.004, False, "4 mm"),
        (0.0009, True, "0.9 mm"),
        (0.02699, True, "26 mm"),
        (1.234, False, "1.23 m"),
        (-0.0061, False, "-6.1 mm"),
        (0.0, False, "0 mm"),
    ],
)
def test_lengths_have_the_digits_a_person_can_use(metres: float, down: bool, told: str) -> None:
    assert length(metres, down=down) == told


def test_small_numbers_are_words() -> None:
    assert [counted(number, "loop") for number in (1, 2, 9, 12)] == ["one loop", "two loops", "nine loops", "12 loops"]


def test_shares_are_told_in_per_cent_with_two_digits() -> None:
    assert [percent(share) for share in (0.004, 0.0123, 0.5)] == ["0.4 %", "1.2 %", "50 %"]


def test_a_region_with_a_side_in_its_name_is_said_with_the_side_first() -> None:
    assert [region_words(name) for name in ("upper_arm_l", "hand_r", "belly", "")] == [
        "left upper arm", "right hand", "belly", ""
    ]  # fmt: skip


def test_a_name_of_two_words_is_quoted() -> None:
    assert (quoted("brim"), quoted("button 2=0.5")) == ("brim", '"button 2=0.5"')


def test_a_place_without_region_or_line_is_told_without_them() -> None:
    assert place_words(structs.replace(place(), region=""), "") == "front left, 112 cm above the ground"


def test_a_shape_of_many_weights_is_told_by_its_label() -> None:
    assert shape_words(cluster()) == "at belly=1"
    assert shape_words(cluster(label="worst 1")) == "on the shape `worst 1`"
