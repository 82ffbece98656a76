"""What was found names a place and figures; each cause speaks in words of its own."""

import itertools
import re
from collections.abc import Mapping

import pytest

from dressform.causes.advice import advise
from dressform.causes.evidence import EVIDENCE, OF
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    CAUSES,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Advice,
)
from dressform.errors import ArgumentError
from explanations import cluster

FULL: Mapping[str, Mapping[str, float]] = {
    ANOTHER_SHAPE: {
        "weight/belly": 0.5, "weight/girth": -0.8, "shape_distance": 0.021, "clearance_base": 0.031,
        "clearance_there": 0.008, "repair_move": 0.035,
    },
    TOO_FEW_VERTICES: {
        "edge_length": 0.041, "bend_radius": 0.092, "bend_radius_across": 0.092, "clearance": 0.00525,
        "margin": 0.004, "height_low": 0.98,
        "height_high": 1.10, "bend_upright": 0.9, "repair_vertices": 34.0,
    },
    RIGID_PATCH: {"rim_step/patch": 0.0118, "patch_strain/patch": 0.004, "repair_move": 0.0034, "repair_pucker": 0.4},
    AMBIGUOUS_FOOT: {"foot_distance": 0.021, "other_foot_distance": 0.024, "feet_apart": 0.31, "feet_part": 0.018},
    BEYOND_EXTREMITY: {"footprint": 0.08, "tip_radius": 0.008, "repair_move": 0.0012},
    SHOULD_NOT_FOLLOW: {"hard_way/button 2": 0.0031, "hard_bend": 0.0002, "repair_move": 0.002},
    ROUGH_MORPH: {"morph_noise/belly": 0.0021},
    TOO_TIGHT: {"clearance_base": 0.0012, "margin": 0.002, "missing_clearance": 0.006, "repair_move": 0.0081},
}  # fmt: skip
VARIANTS = [
    *FULL.items(),
    (ANOTHER_SHAPE, {"base/man": 1.0, "shape_distance": 0.03}),
    (TOO_FEW_VERTICES, {**FULL[TOO_FEW_VERTICES], "bend_upright": 0.1}),
    (TOO_FEW_VERTICES, {**FULL[TOO_FEW_VERTICES], "clearance": 0.001}),
    (BEYOND_EXTREMITY, {"footprint": 0.6, "limb_width": 0.012}),
    (TOO_FEW_VERTICES, {**FULL[TOO_FEW_VERTICES], "edge_length": 0.02}),
    (SHOULD_NOT_FOLLOW, {"far_clearance": 0.21}),
    *((cause, {}) for cause in CAUSES),
]


def template(words: str) -> list[str]:
    """The clauses of a sentence without figures and names."""
    plain = re.sub(r"`[^`]*`|\S*\d\S*", "#", words)
    return [clause.strip() for clause in re.split(r"[;:,()]", plain) if len(clause.split()) > 2]


def said(advice: Advice) -> str:
    return f"{advice.what}; {advice.repair}"


def test_the_belly_of_a_coarse_jersey_reads_as_its_maker_needs_it() -> None:
    advice = advise(TOO_FEW_VERTICES, cluster(), FULL[TOO_FEW_VERTICES], line="4.2 cm below the waist line")
    assert advice.where == "torso, front left, 112 cm above the ground, 4.2 cm below the waist line"
    assert advice.what == (
        "edges here are up to 41 mm long as modelled; the body under them has a radius of 92 mm at belly=1 "
        "and comes through the triangles "
        "between their corners"
    )


def test_a_step_is_told_with_the_strain_inside_it() -> None:
    what = advise(RIGID_PATCH, cluster(), FULL[RIGID_PATCH]).what
    assert "morph `patch`" in what
    assert "a step of 12 mm" in what
    assert "lengthen by 0.4 % only" in what


def test_cloth_beyond_a_tip_is_told_with_its_footprint() -> None:
    what = advise(BEYOND_EXTREMITY, cluster(), FULL[BEYOND_EXTREMITY]).what
    assert "0.08 cm² of skin under 1 cm² of cloth, where 0.2 is the least that leads it" in what


def test_a_finger_that_goes_a_way_of_its_own_is_told_by_its_width() -> None:
    what = advise(BEYOND_EXTREMITY, cluster(), {"footprint": 0.6, "limb_width": 0.012}).what
    assert what.startswith("the limb under this cloth is 12 mm wide where it is thinnest")


def test_room_that_is_missing_is_told_as_girth_too() -> None:
    what = advise(TOO_TIGHT, cluster(), FULL[TOO_TIGHT]).what
    assert "6 mm are missing, all round 38 mm of girth" in what  # 2 π c


def test_cloth_in_the_skin_is_told_without_a_sign() -> None:
    evidence = {**FULL[TOO_TIGHT], "clearance_base": -0.0008}
    assert ": 0.8 mm inside the skin at the base" in advise(TOO_TIGHT, cluster(), evidence).what


def test_the_shape_under_the_garment_is_named_by_its_largest_weights() -> None:
    what = advise(ANOTHER_SHAPE, cluster(), {**FULL[ANOTHER_SHAPE], "weight/chest": 0.01}).what
    assert "the shape girth=-0.8 belly=0.5, not" in what
    assert "the base body `man`" in advise(ANOTHER_SHAPE, cluster(), {"base/man": 1.0, "base/child": 0.2}).what


def test_a_stiff_part_is_named() -> None:
    advice = advise(SHOULD_NOT_FOLLOW, cluster(), FULL[SHOULD_NOT_FOLLOW])
    assert advice.what.startswith("part `button 2` is stiff, but the cloth's way")
    assert "up to 3.1 mm off its seat at belly=1" in advice.what
    assert advise(SHOULD_NOT_FOLLOW, cluster(), {}).what.startswith("part `front panel` is stiff")
    assert "hangs 210 mm off the skin" in advise(SHOULD_NOT_FOLLOW, cluster(), {"far_clearance": 0.21}).what


@pytest.mark.parametrize(("cause", "evidence"), VARIANTS)
def test_the_same_evidence_gives_the_same_words_and_all_of_it_is_known(
    cause: str, evidence: Mapping[str, float]
) -> None:
    again = dict(reversed(list(evidence.items())))
    assert advise(cause, cluster(), evidence) == advise(cause, cluster(), again)
    assert {name.split(OF)[0] for name in evidence} <= set(EVIDENCE)


def test_no_two_causes_share_a_clause() -> None:
    clauses: dict[str, set[str]] = {cause: set() for cause in CAUSES}
    for cause, evidence in VARIANTS:
        clauses[cause] |= set(template(said(advise(cause, cluster(), evidence))))
    for first, second in itertools.combinations(CAUSES, 2):
        assert not clauses[first] & clauses[second]
    assert all(clauses.values())


@pytest.mark.parametrize(("cause", "evidence"), VARIANTS)
def test_every_figure_is_told_as_a_person_measures_it(cause: str, evidence: Mapping[str, float]) -> None:
    advice = advise(cause, cluster(label="worst 1"), evidence)
    assert not re.search(r"\d\.\d{3,}|nan|inf\b", said(advice))
    assert advice.sentence == f"{advice.where}: {advice.what}"


def test_an_unknown_cause_lists_the_known_ones() -> None:
    with pytest.raises(ArgumentError, match=r"`cause` must be one of modelled on another shape, .*, got 'bad luck'"):
        advise("bad luck", cluster(), {})
