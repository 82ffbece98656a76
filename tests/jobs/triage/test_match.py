"""A note means the place that most of its words fit: what it names, and nothing that it denies."""

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.faults.results import Place
from dressform.jobs.triage.match import BodyPlaces, FoundPlace, best_match, stance_of
from dressform.jobs.triage.words.hear import hear
from dressform.jobs.triage.words.vocabulary import STANCE
from phantoms import capsule


def standing(*, named: bool = True) -> Body:
    """A capsule 1.7 m tall with regions by height: shins and thighs below, belly, chest and head above."""
    vertices, faces = capsule()
    names = {"shin_l": (0.0, 0.5), "thigh_l": (0.5, 0.8), "belly": (0.9, 1.1), "chest": (1.1, 1.4), "head": (1.5, 1.7)}
    regions = {name: (vertices[:, 1] >= low) & (vertices[:, 1] < high) for name, (low, high) in names.items()}
    deltas = np.zeros((1, *vertices.shape))
    return Body(
        "standing", vertices, faces, ("belly",), deltas, Range.unit(("belly",)), regions=regions if named else {}
    )


BODY = BodyPlaces(standing())
NAMELESS = BodyPlaces(standing(named=False))


def spot(fault: str, height: float, *, severity: str = "grave", area: float = 4.0, value: float = 1.0,
         side: str = "front left", part: str = "knit") -> FoundPlace:  # fmt: skip
    place = Place(
        position_m=(0.0, height, 0.16), vertex=int(1000 * height), side=side, part=part, fault=fault, severity=severity,
        value=value, area_cm2=area,
    )  # fmt: skip
    return FoundPlace(place, None, (0.0, height, 0.16))


SPOTS = (spot("exposed", 1.0), spot("exposed", 1.3, side="front right"), spot("pucker", 0.6, severity="slight"))


def height_of(note: str, spots: tuple[FoundPlace, ...] = SPOTS, body: BodyPlaces = BODY) -> float | None:
    found = best_match(hear(note), spots, body, ("knit", "button 1"))
    return None if found is None else found.place.position_m[1]


@pytest.mark.parametrize("body", [BODY, NAMELESS])
@pytest.mark.parametrize(
    ("note", "height"),
    [
        ("skin shows at my belly", 1.0),
        ("skin on the chest comes through", 1.3),
        ("creases on the thigh", 0.6),
        ("skin at the head", None),
        ("creases at the chest", None),
        ("something at the thigh", 0.6),
    ],
)
def test_both_fault_and_place_must_fit_where_both_are_named(body: BodyPlaces, note: str, height: float | None) -> None:
    """On a body that names no regions places are known by their height."""
    assert height_of(note, body=body) == height


def test_a_side_and_a_part_decide_between_places_and_refuse_none() -> None:
    assert height_of("skin shows on the right side") == 1.3
    assert height_of("skin shows on the left") == 1.0
    assert height_of("skin shows behind") is not None
    buttons = (spot("layers", 1.2, severity="slight", part="button 1"), spot("layers", 1.0))
    assert height_of("a button sinks in", buttons) == 1.2


def test_what_a_note_denies_is_not_what_it_means() -> None:
    assert height_of("no skin shows, only creases") == 0.6
    assert height_of("It is wrong at the belly. No skin, though") is None


def test_of_places_that_fit_alike_the_gravest_is_meant_then_the_largest() -> None:
    spots = (
        spot("exposed", 1.0, severity="slight", area=90.0),
        spot("exposed", 1.05, area=2.0),
        spot("exposed", 1.08, area=3.0),
    )
    assert height_of("skin shows", spots) == 1.08


def test_loose_cloth_is_what_moved_away_and_tight_cloth_what_came_nearer() -> None:
    spots = (spot("clearance", 1.0, value=8.0), spot("clearance", 1.3, value=-8.0))
    assert height_of("far too baggy", spots) == 1.0
    assert height_of("too tight", spots) == 1.3


def test_a_large_place_is_also_where_its_rim_is() -> None:
    assert height_of("skin at the chest", (spot("exposed", 1.0, area=4.0),)) is None
    assert height_of("skin at the chest", (spot("exposed", 1.0, area=400.0),)) == 1.0


def test_a_knee_is_where_thigh_and_shin_meet() -> None:
    assert height_of("creases at the knee", (spot("pucker", 0.5),)) == 0.5
    assert height_of("creases at the knee", (spot("pucker", 0.75),)) is None


def test_a_vague_note_means_only_what_is_moderate_or_grave() -> None:
    assert height_of("it looks wrong", (spot("pucker", 0.6, severity="slight"),)) is None
    assert height_of("it looks wrong") in {1.0, 1.3}


def test_words_for_a_stance_mean_the_first_stance_that_begins_so() -> None:
    names = dict.fromkeys(("elbows 140", "sit", "arms up 150"))
    assert stance_of(hear("when I sit down").said(STANCE), names) == "sit"
    assert stance_of(hear("with my arms up").said(STANCE), names) == "arms up 150"
    assert stance_of(hear("in a fist").said(STANCE), names) == ""
