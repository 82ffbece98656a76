"""How garments should follow: what is right for each is found, nothing gets graver, and the file keeps its word."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dressform as df
from dressform.body.shapes import ShapeSettings
from dressform.errors import ArgumentError
from dressform.faults.body_context import BodyContext
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.following_file import read_following
from dressform.formats.results.suggest_schema import SuggestedGarment
from dressform.jobs.suggest.run import SuggestResult, write_suggestion
from dressform.jobs.suggest.shared import SharedGarment
from dressform.report.tables.suggestion import STIFF, left_words, suggestion_line
from limbs import CLEARANCE, RADIUS, bend, limb, sleeve
from small_garments import belt, box, fringed_hem, helmet, keeper, lantern, of_parts

FEW = ShapeSettings(strongest=0, sobol=2)
BODY = keeper()
NAMES = ("belt", "helmet", "fringed skirt", "lantern")


@pytest.fixture(scope="module")
def found() -> SuggestResult:
    """A buckled belt, a helmet, a fringed skirt and a lantern in the hand."""
    return df.suggest_following(BODY, [belt(), helmet(), fringed_hem(), lantern()], shapes=FEW)


@pytest.fixture(scope="module")
def told(found: SuggestResult) -> dict[str, SuggestedGarment]:
    return {one.name: one for one in found.told.garments}


def test_a_buckle_should_be_stiff_and_its_strap_soft(told: dict[str, SuggestedGarment]) -> None:
    assert [(line.key, line.value) for line in told["belt"].lines] == [("hard", "buckle")]
    assert "called a buckle" in told["belt"].lines[0].reason
    assert "Hard part bent from 1.2 mm (slight) to 0 mm (clean)" in told["belt"].lines[0].reason
    assert (told["belt"].severity_before, told["belt"].severity_after) == ("slight", "clean")


def test_a_helmet_should_be_stiff_although_a_check_grades_only_small_pieces(told: dict[str, SuggestedGarment]) -> None:
    assert [(line.key, line.value) for line in told["helmet"].lines] == [("hard", "helmet")]
    assert told["helmet"].severity_before == "clean"


def test_a_fringe_that_hangs_clear_stays_as_it_is(told: dict[str, SuggestedGarment]) -> None:
    assert not told["fringed skirt"].differs
    assert {"skirt off", "fringe off"} <= {way.words for way in told["fringed skirt"].tried}


def test_a_lantern_that_would_leave_the_thigh_with_the_hand_is_for_a_person_to_weigh(
    told: dict[str, SuggestedGarment],
) -> None:
    one = told["lantern"]
    assert not one.differs
    (trade,) = (way for way in one.tried if way.verdict == "trades" and way.words == "lantern stiff")
    assert [change.fault for change in trade.price] == ["clearance"]
    assert trade.changes[0].fault == "stiff"
    assert trade.changes[0].severity_before == "grave"
    assert trade.changes[0].severity_after in ("clean", "slight")


def test_the_first_line_says_which_should_follow_differently(found: SuggestResult) -> None:
    first = suggestion_line(found.told)
    assert first == "2 of 4 garments should follow differently: belt (hard = buckle); helmet (hard = helmet)."
    assert str(found).splitlines()[0] == first


def test_what_a_check_does_not_grade_is_told_beside_its_verdict(found: SuggestResult) -> None:
    lantern_told = _told(found, "lantern")
    (stiff,) = [left for left in lantern_told.after if left.fault == STIFF]
    assert stiff.severity != "clean"
    words = left_words(lantern_told.after, lantern_told.severity_after)
    assert words.startswith(lantern_told.severity_after)
    said = f"; beside what a check grades, bend of what is likely stiff {stiff.value:.1f} mm ({stiff.severity})"
    assert said in words


def test_the_file_keeps_its_word_to_the_last_digit(found: SuggestResult, tmp_path: Path) -> None:
    """What is promised of each garment is what a check of it finds, with the settings read from the file."""
    write_suggestion(found, tmp_path / "following.toml")
    read = read_following(tmp_path / "following.toml")
    assert tuple(read) == NAMES
    fits = [df.fit(BODY, garment, read[garment.name]) for garment in (belt(), lantern())]
    swept = df.check(fits, shapes=FEW, causes=False).swept.worst()
    for key, name in (("belt smooth", "belt"), ("lantern smooth", "lantern")):
        after = _told(found, name).after
        promised = {left.fault: (left.value, left.severity) for left in after if left.fault != STIFF}
        assert promised.keys() == swept[key].keys()
        for fault, row in swept[key].items():
            value = row.values[fault] * FAULT_OF[fault].factor
            assert promised[fault] == (pytest.approx(value, abs=1e-4), row.faults.severities[fault])


def _told(found: SuggestResult, name: str) -> SuggestedGarment:
    (one,) = (one for one in found.told.garments if one.name == name)
    return one


def test_every_line_of_the_file_has_its_reason_above_it(found: SuggestResult, tmp_path: Path) -> None:
    (path, *_) = write_suggestion(found, tmp_path / "following.toml")
    lines = path.read_text(encoding="utf-8").splitlines()
    above = lines[lines.index("hard = [") - 1]
    assert above.startswith("# ")
    assert "It is called a buckle" in path.read_text(encoding="utf-8")
    assert "# Should follow as it does: clean." in lines


def test_nothing_gets_graver_on_any_shape_of_either_check(found: SuggestResult) -> None:
    """Measured anew, each fit by itself."""
    garment = belt()
    now, then = df.fit(BODY, garment), df.fit(BODY, garment, found.followings["belt"])
    shapes = {
        row.weights.tobytes(): row.weights
        for one in (now, then)
        for row in df.check(one, shapes=FEW, causes=False).swept.rows
    }
    worn = [GarmentOnBody(one) for one in (now, then)]
    for weights in shapes.values():
        before, after = (one.measure(weights).severities for one in worn)
        assert all(SEVERITIES.index(after[fault]) <= SEVERITIES.index(before[fault]) for fault in before)


@pytest.mark.parametrize(
    "following",
    [
        df.Following(strength=0.5),
        df.Following(parts={"strap": 0.25}, falloff_mm=10.0),
        df.Following(hard=("buckle",)),
        df.Following(parts={"buckle": 0.0}, hard=("strap",)),
    ],
    ids=["half", "part", "hard", "both"],
)
def test_a_way_is_measured_as_if_it_had_been_fitted_and_prepared_by_itself(following: df.Following) -> None:
    """The shared lift and the shared base give the same fit and the same faults, bit by bit."""
    garment = belt()
    shared = SharedGarment(df.fit(BODY, garment), garment, context=BodyContext(BODY), bands=DEFAULT_BANDS)
    alone = df.fit(BODY, garment, following)
    made = shared.fit(following)
    assert np.array_equal(made.deltas, alone.deltas)
    assert np.array_equal(made.garment.strength, alone.garment.strength)
    weights = np.array([1.0, 0.3, 0.0, 1.0])
    one, other = shared.look(following).measure(weights), GarmentOnBody(alone).measure(weights)
    assert one.severities == other.severities
    assert one.broken == other.broken
    assert one.stretch == other.stretch


def test_a_buckle_beside_the_elbow_should_be_stiff_on_one_joint_since_stiff_targets_alone_bend(tmp_path: Path) -> None:
    """And the file keeps its word at the stance."""
    sock = sleeve(along=21, around=20)
    side = -RADIUS - CLEARANCE - 0.006
    buckle = box((0.0, 0.038, side), (0.03, 0.04, 0.005))
    garment = of_parts("sleeve", {"cloth": (sock.vertices, sock.faces), "buckle": buckle})
    body, stances, none = limb(along=25, around=20), [bend(60)], ShapeSettings(ends=False, strongest=0, sobol=0)
    found = df.suggest_following(body, garment, shapes=none, stances=stances)
    (one,) = found.told.garments
    assert [line.key for line in one.lines] == ["hard", "part_joints.buckle"]
    verdicts = {way.words: way.verdict for way in one.tried}
    assert verdicts["buckle stiff"] == "graver"
    write_suggestion(found, tmp_path / "following.toml")
    read = read_following(tmp_path / "following.toml")["sleeve"]
    swept = df.check(df.fit(body, garment, read), shapes=none, stances=stances, causes=False).swept
    for left in one.after:
        worst = max(row.values[left.fault] for row in swept.rows) * FAULT_OF[left.fault].factor
        assert left.value == pytest.approx(worst, abs=1e-4)


@pytest.mark.parametrize("painted", [False, True], ids=["set", "painted"])
def test_cloth_that_follows_too_little_should_follow_fully_and_the_file_says_why(painted: bool, tmp_path: Path) -> None:
    """Also where the line itself is left out, since full strength is what is always meant."""
    garment, now = belt(), df.Following(hard=("buckle",))
    if painted:
        garment = replace(garment, strength=np.full(len(garment.vertices), 0.7))
    else:
        now = replace(now, strength=0.7)
    found = df.suggest_following(BODY, garment, now, shapes=ShapeSettings(ends=False, strongest=0, sobol=0))
    (one,) = found.told.garments
    assert [line.key for line in one.lines] == ["mask" if painted else "strength"]
    assert (one.severity_before, one.severity_after) == ("grave", "clean")
    (path, *masks) = write_suggestion(found, tmp_path / "following.toml")
    text = " ".join(path.read_text(encoding="utf-8").replace("\n#", "").split())
    assert one.lines[0].reason in text
    assert len(masks) == painted


def test_strength_painted_in_the_file_stays_under_what_is_suggested() -> None:
    garment = belt()
    half = replace(garment, strength=np.where(garment.vertices[:, 0] > 0, 1.0, 0.5))
    shared = SharedGarment(df.fit(BODY, half), half, context=BodyContext(BODY), bands=DEFAULT_BANDS)
    asked = df.Following(hard=("buckle",))
    assert np.array_equal(shared.fit(asked).deltas, df.fit(BODY, half, asked).deltas)


@pytest.mark.parametrize(
    ("garments", "following", "words"),
    [
        ([], df.Following(), "`garments` must be one or more, of different names, got none"),
        ([belt(), belt()], df.Following(), "of different names, got belt, belt"),
        ([belt()], df.Following(method="file"), "`following.method` must be by a lift of ours"),
    ],
    ids=["none", "twice", "file"],
)
def test_what_cannot_be_asked_is_refused(garments: list[df.Garment], following: df.Following, words: str) -> None:
    with pytest.raises(ArgumentError, match=words):
        df.suggest_following(BODY, garments, following)
