"""The demo people over their range, held against the size intervals of EN 13402-3 [EN13402-3].

The table is data (`en13402_3.toml`), restated; its bust is our full bust, the largest girth, as EN 13402-1 has it.
Not asked: how the girths of one person go together, which is the population's affair and no part of this table.
"""

import tomllib
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from dressform.body.measure import Measurer
from dressform.demo.body import make_demo_bodies
from dressform.faults.severity import Bands

SCALES: dict[str, dict[str, list[float]]] = tomllib.loads(Path(__file__).with_name("en13402_3.toml").read_text("utf-8"))
PEOPLE = {"woman": "women", "man": "men"}
OURS = {"bust": "full bust", "height": "stature"}
"""What the table calls a girth, where we call it otherwise."""

GROWS = [
    ("woman", "girth", "bust", 3),
    ("woman", "girth", "waist", 5),
    ("woman", "girth", "hip", 3),
    ("woman", "chest", "bust", 3),
    ("woman", "belly", "waist", 4),
    ("woman", "hips", "hip", 4),
    ("woman", "stature", "height", 4),
    ("man", "girth", "chest", 3),
    ("man", "girth", "waist", 5),
    ("man", "chest", "chest", 2),
    ("man", "belly", "waist", 4),
    ("man", "stature", "height", 4),
]
"""Build, morph, girth of the table, and how many of its sizes the morph alone must lead through."""


@cache
def measurer(name: str) -> Measurer:
    return Measurer(make_demo_bodies()[name])


def centimetres(name: str, measure: str, **weights: float) -> float:
    taken = measurer(name).measure(measurer(name).body.weights(weights)).named(OURS.get(measure, measure)).value
    assert taken is not None
    return 100 * taken


def size_of(scale: list[float], girth: float) -> float:
    """The size whose interval holds a girth: the nearest of the scale."""
    return scale[int(np.argmin(np.abs(np.array(scale) - girth)))]


def test_the_scale_has_steps_of_four_then_six_centimetres_and_no_gap() -> None:
    """The hip's last steps are of 5 cm: hips grow less than waists."""
    for name, scales in SCALES.items():
        for girth, scale in scales.items():
            assert set(np.diff(scale)) <= {4, 5, 6}, (name, girth)
            assert sorted(np.diff(scale)) == list(np.diff(scale)), (name, girth)


@pytest.mark.parametrize("name", PEOPLE)
def test_the_base_bodies_wear_a_size_of_every_scale(name: str) -> None:
    for girth, scale in SCALES[PEOPLE[name]].items():
        value = centimetres(name, girth)
        assert scale[0] - 2 <= value <= scale[-1] + 2, girth
        assert abs(size_of(scale, value) - value) <= 3, girth


@pytest.mark.parametrize(("name", "morph", "girth", "count"), GROWS)
def test_a_morph_leads_through_several_sizes_always_upward(name: str, morph: str, girth: str, count: int) -> None:
    body = measurer(name).body
    number = body.morph_names.index(morph)
    weights = np.linspace(body.range.low[number], body.range.high[number], 9)
    values = [centimetres(name, girth, **{morph: float(weight)}) for weight in weights]
    assert (np.diff(values) > 0).all()
    sizes = [size_of(SCALES[PEOPLE[name]][girth], value) for value in values]
    assert len(set(sizes)) >= count, sizes


def test_ease_is_called_off_before_it_is_a_size_and_grave_beyond_two() -> None:
    """A clearance change of d all around is 2 pi d of girth; a size is 4 cm."""
    size = SCALES["women"]["bust"][1] - SCALES["women"]["bust"][0]
    bounds = {word: min(d for d in np.arange(0, 0.1, 1e-4) if Bands().grade("clearance", float(d)) == word)
              for word in ("slight", "moderate", "grave")}  # fmt: skip
    girths = {word: 100 * 2 * np.pi * bound for word, bound in bounds.items()}
    assert girths["slight"] < size < girths["moderate"]
    assert girths["grave"] > 2 * size
