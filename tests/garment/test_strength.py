"""Strength: on, off, per part, painted, with a soft rim, and still linear."""

import numpy as np
import pytest
from jaxtyping import Float

from dressform.errors import ArgumentError
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.garment.strength import with_strength
from lift_phantoms import body_of, tube

FALLOFF = 0.06


@pytest.fixture(scope="module")
def garment() -> Garment:
    vertices, faces = tube(0.12, 0.4, 0.01)
    upper = vertices[faces][:, :, 1].min(axis=1) > -1e-9
    return Garment("skirt", vertices, faces, ("lower", "upper"), upper.astype(np.int64), np.ones(len(vertices)))


def test_off_is_zero_everywhere_and_on_is_one(garment: Garment) -> None:
    assert (with_strength(garment, overall=0.0).strength == 0).all()
    assert (with_strength(garment, overall=1.0).strength == 1).all()
    assert (garment.strength == 1).all()


def test_strength_rises_by_a_smoothstep_over_the_falloff(garment: Garment) -> None:
    strength = with_strength(garment, parts={"upper": 0.2}, falloff=FALLOFF).strength
    below = np.maximum(-garment.vertices[:, 1], 0.0)
    share = np.clip(below / FALLOFF, 0, 1)
    assert strength == pytest.approx(0.2 + 0.8 * share**2 * (3 - 2 * share), abs=1e-9)


def test_without_falloff_the_rim_is_sharp(garment: Garment) -> None:
    strength = with_strength(garment, overall=0.7, parts={"upper": 0.0}, falloff=0.0).strength
    assert strength == pytest.approx(np.where(garment.vertices[:, 1] > -1e-9, 0.0, 0.7))


def test_a_painted_mask_multiplies_and_rises_softly_from_where_it_is_zero(garment: Garment) -> None:
    heights = garment.vertices[:, 1]
    mask = np.where(heights > 0.1 - 1e-9, 0.0, 0.5)
    strength = with_strength(garment, overall=0.8, mask=mask, falloff=FALLOFF).strength
    edge = heights[mask == 0].min()
    share = np.clip((edge - heights) / FALLOFF, 0, 1)
    assert strength == pytest.approx(0.4 * share**2 * (3 - 2 * share), abs=1e-9)


def test_strength_scales_the_rows_of_the_lift(garment: Garment) -> None:
    vertices, faces = tube(0.1, 0.5, 0.012)
    push: Float[np.ndarray, "B 3"] = 0.02 * vertices * [1.0, 0.0, 1.0] / 0.1
    body = body_of((vertices, faces), wider=push)
    full = make_fit(body, garment).deltas
    part = with_strength(garment, parts={"upper": 0.0}, falloff=FALLOFF)
    fitted = make_fit(body, part)
    assert np.abs(fitted.deltas - part.strength[:, None] * full).max() < 1e-15
    still = garment.vertices[:, 1] > 0
    assert np.array_equal(fitted.at(np.array([1.0]))[still], garment.vertices[still])


def test_an_unknown_part_is_refused_and_the_parts_are_listed(garment: Garment) -> None:
    with pytest.raises(ArgumentError, match="parts of 'skirt': lower, upper, got 'sleeve'"):
        with_strength(garment, parts={"sleeve": 0.0})


@pytest.mark.parametrize("strength", [-0.1, 1.5, float("nan")])
def test_a_strength_outside_its_interval_is_refused(garment: Garment, strength: float) -> None:
    with pytest.raises(ArgumentError, match=r"`overall` must be in \[0, 1\]"):
        with_strength(garment, overall=strength)
    with pytest.raises(ArgumentError, match=r"`upper` must be in \[0, 1\]"):
        with_strength(garment, parts={"upper": strength})
    with pytest.raises(ArgumentError, match=r"`mask\[0\]` must be in \[0, 1\]"):
        with_strength(garment, mask=np.full(len(garment.vertices), strength))


def test_a_mask_of_another_garment_is_refused(garment: Garment) -> None:
    with pytest.raises(ArgumentError, match=r"`mask` must be one value for each of \d+ vertices, got 3"):
        with_strength(garment, mask=np.ones(3))


def test_a_negative_falloff_is_refused(garment: Garment) -> None:
    with pytest.raises(ArgumentError, match="`falloff` must be at least 0 m and finite, got -1"):
        with_strength(garment, falloff=-1.0)
