"""A fault that was put in gets the cause that was put in."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    CAUSES,
    JOINT_WEIGHTS,
    LAYER_BELOW,
    OWNERS,
    ROUGH_MORPH,
)
from seeded_cases import Case, make_case, propose, shows, without_noise
from seeded_faults import Seed, insert
from seeded_phantoms import SEEDS, clean_tube, explained, explained_at, seeded_tube
from seeded_scenes import Scene, demo_scenes

pytestmark = pytest.mark.long

WORN = {ANOTHER_SHAPE: ("guernsey", 0), AMBIGUOUS_FOOT: ("waistcoat", 0), BEYOND_EXTREMITY: ("gloves", 5)}
"""For causes that need a whole person: a garment of the demo, and the number of the seed."""


@cache
def scenes() -> dict[str, Scene]:
    return demo_scenes()


@cache
def case_of(cause: str) -> Case:
    name, number = WORN[cause]
    seed = propose(scenes()[name], cause, number)
    assert seed is not None
    case = make_case(scenes()[name], seed, name)
    assert case is not None
    return case


def test_every_cause_is_put_in_somewhere() -> None:
    assert sorted([*SEEDS, *WORN, LAYER_BELOW, JOINT_WEIGHTS]) == sorted(CAUSES)


@pytest.mark.parametrize("cause", SEEDS)
def test_on_a_tube_the_cause_that_was_put_in_is_named_first(cause: str) -> None:
    scene = seeded_tube(cause)
    near = [each for each in explained(scene) if shows(scene, SEEDS[cause], each.cluster.worst.place)]
    assert near[0].cause == cause
    assert near[0].owner == OWNERS[cause]
    assert near[0].advice is not None


@pytest.mark.parametrize("cause", WORN)
def test_on_a_person_the_cause_that_was_put_in_is_named_first(cause: str) -> None:
    case = case_of(cause)
    said = explained_at(case.scene, list(case.shapes))
    near = [each for each in said if shows(case.scene, case.seeds[0], each.cluster.worst.place)]
    assert near[0].cause == cause


def test_the_same_seed_makes_the_same_garment() -> None:
    for cause, seed in SEEDS.items():
        again = insert(clean_tube(), seed)
        np.testing.assert_array_equal(again.garment.vertices, seeded_tube(cause).garment.vertices)
        np.testing.assert_array_equal(again.body.deltas, seeded_tube(cause).body.deltas)


def test_a_seed_without_strength_shows_nothing() -> None:
    seed = Seed(ANOTHER_SHAPE, np.zeros(3), np.inf, 0.0, shape={"girth": 1.0})
    assert make_case(clean_tube(), seed, "nothing") is None
    assert explained(insert(clean_tube(), seed)) == ()


def test_every_place_of_a_small_rough_patch_is_the_rough_morphs() -> None:
    seed = replace(SEEDS[ROUGH_MORPH], radius=0.06, strength=0.006)
    scene = insert(clean_tube(), seed)
    near = [each for each in explained(scene) if shows(scene, seed, each.cluster.worst.place)]
    assert len(near) >= 2
    assert {each.cause for each in near} == {ROUGH_MORPH}


def test_a_rough_seed_without_its_noise_is_a_smooth_swelling_and_no_fault() -> None:
    seed = without_noise(SEEDS[ROUGH_MORPH])
    scene = insert(clean_tube(), seed)
    assert scene.body.deltas[-1].max() > 0.005
    assert make_case(clean_tube(), seed, "smooth") is None
