"""Advice names a place, figures and a repair; each cause speaks in words of its own."""

import itertools
import re
from collections.abc import Mapping

import numpy as np
import pytest

from dressform.causes.advice import advise
from dressform.causes.evidence import EVIDENCE, OF
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    CAUSES,
    RIGID_PATCH,
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
    TOO_TIGHT: {"clearance_base": 0.0012, "margin": 0.002, "missing_clearance": 0.006, "repair_move": 0.0081},
}  # fmt: skip
VARIANTS = [
    *FULL.items(),
    (ANOTHER_SHAPE, {"base/man": 1.0, "shape_distance": 0.03}),
    (ANOTHER_SHAPE, {"oversize": 0.012}),
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
        "edge length here is 41 mm; the body under it has a radius of 92 mm at belly=1; at most 26 mm keeps 4 mm of "
        "room: add two edge loops between 98 cm and 110 cm"
    )
    assert advice.repair == "`refine` splits these triangles instead (34 vertices more)"


def test_the_longest_edge_is_the_closed_form_of_the_cylinder_rounded_down() -> None:
    for radius, room in itertools.product((0.03, 0.1, 0.4), (0.001, 0.0035)):
        evidence = {"edge_length": 1.0, "bend_radius": radius, "clearance": room + 0.002, "margin": 0.002}
        for across, factor in ((1e9, 8.0), (None, 6.0)):  # what is not known may bend both ways
            known = evidence if across is None else {**evidence, "bend_radius_across": across}
            told = re.search(r"at most (\S+) mm", advise(TOO_FEW_VERTICES, cluster(), known).what)
            assert told is not None
            assert 0.0 <= 1e3 * np.sqrt(factor * radius * room) - float(told[1]) < 1.0


def test_a_bend_round_the_body_asks_for_columns_and_a_ball_for_shorter_edges() -> None:
    evidence = {**FULL[TOO_FEW_VERTICES], "bend_upright": 0.2}
    assert advise(TOO_FEW_VERTICES, cluster(), evidence).what.endswith(
        "cut each edge that runs along the bend into two pieces"
    )
    tube = advise(TOO_FEW_VERTICES, cluster(), {**evidence, "bend_radius_across": 1e9}).what
    assert "at most 30 mm" in tube  # √(8 R room), where a ball may have √(6 R room) = 26 mm


def test_corners_without_room_are_brought_out_as_well() -> None:
    advice = advise(TOO_FEW_VERTICES, cluster(), {**FULL[TOO_FEW_VERTICES], "clearance": 0.003})
    assert advice.what.endswith("; bring the edges' ends 2 mm farther out as well")


def test_a_step_is_laid_down_over_a_length_that_makes_it_gentle() -> None:
    what = advise(RIGID_PATCH, cluster(), FULL[RIGID_PATCH]).what
    assert "morph `patch`" in what
    assert "a step of 12 mm" in what
    assert "lengthen by 0.4 % only" in what
    assert "over 59 mm or more" in what  # 11.8 mm at one in five


def test_cloth_beyond_a_tip_is_told_where_its_footprint_is_large_enough() -> None:
    radius = 0.008
    what = advise(BEYOND_EXTREMITY, cluster(), FULL[BEYOND_EXTREMITY]).what
    told = re.search(r"within (\S+) mm", what)
    assert told is not None
    nearest = float(told[1]) / 1e3
    assert (1.0 + nearest / radius) ** -2 == pytest.approx(0.2, abs=0.005)
    assert (1.0 + nearest / radius) ** -2 >= 0.2


def test_a_finger_that_goes_a_way_of_its_own_is_told_by_its_width() -> None:
    what = advise(BEYOND_EXTREMITY, cluster(), {"footprint": 0.6, "limb_width": 0.012}).what
    assert what.startswith("the limb under this cloth is 12 mm wide where it is thinnest")


def test_room_that_is_missing_is_told_as_girth_too() -> None:
    what = advise(TOO_TIGHT, cluster(), FULL[TOO_TIGHT]).what
    assert "let it out by 6 mm, which all round is 38 mm of girth" in what  # 2 π c


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
    assert '`--off "front panel"`' in advise(SHOULD_NOT_FOLLOW, cluster(), {"far_clearance": 0.21}).repair


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
        assert not clauses[first] & clauses[second] - set(template("cloth moves by up to 1 mm, pucker times 2"))
    assert all(len(own) >= 3 for own in clauses.values())


@pytest.mark.parametrize(("cause", "evidence"), VARIANTS)
def test_every_advice_says_what_to_do_and_which_repair_does_it(cause: str, evidence: Mapping[str, float]) -> None:
    advice = advise(cause, cluster(label="worst 1"), evidence)
    assert re.search(r"\b(split|add|cut|blend|model|let|fade|keep|take)\b", advice.what)
    assert re.match(r"`[a-z_-]+", advice.repair)
    assert advice.repair.endswith(")")
    assert not re.search(r"\d\.\d{3,}|nan|inf\b", said(advice))
    assert advice.sentence == f"{advice.where}: {advice.what}"


def test_an_unknown_cause_lists_the_known_ones() -> None:
    with pytest.raises(ArgumentError, match=r"`cause` must be one of modelled on another shape, .*, got 'bad luck'"):
        advise("bad luck", cluster(), {})
