"""A note is read by plain words: phrases before words, slips forgiven, denials understood."""

import pytest

from dressform.faults.registry import FAULTS
from dressform.jobs.triage.words.hear import hear, is_vague
from dressform.jobs.triage.words.spelling import meant, slips, stem
from dressform.jobs.triage.words.vocabulary import FAULT, PART, PLACE, SIDE, STANCE, vocabulary


def keys(text: str, kind: str) -> set[str]:
    return {one.meaning.key for one in hear(text).said(kind)}


def denied(text: str, kind: str) -> set[str]:
    return {one.meaning.key for one in hear(text).denied(kind)}


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("The buckle sinks into the leather", FAULT, {"bent", "sunk"}),
        ("Skin pokes through at the armpit", PLACE, {"armpit"}),
        ("It shows at my left knee, from behind", SIDE, {"left", "back"}),
        ("the cuffs have gone ragged", PART, {"rib"}),
        ("when I sit down the seat of it splits", STANCE, {"sit"}),
        ("my arms up over a rope", STANCE, {"arms_up"}),
        ("middle finger", PLACE, {"middle_finger"}),
        ("That is all right above the water", SIDE, set()),
    ],
)
def test_ordinary_words_are_understood(text: str, kind: str, said: set[str]) -> None:
    assert keys(text, kind) == said


@pytest.mark.parametrize(
    ("text", "said", "not_said"),
    [
        ("No skin shows, but the wool puckers", {"pucker"}, {"skin", "through"}),
        ("It does not pucker. It is baggy", {"loose"}, {"pucker"}),
        ("Never torn, just stretched", {"stretch"}, {"seam"}),
        ("not only baggy but creased", {"loose", "pucker"}, set()),
        ("It doesn't cover my belly", {"skin"}, set()),
        ("without any wrinkles it would be lovely", set(), {"pucker"}),
        ("no idea why it puckers", {"pucker"}, set()),
    ],
)
def test_what_is_denied_is_told_apart(text: str, said: set[str], not_said: set[str]) -> None:
    assert keys(text, FAULT) == said
    assert denied(text, FAULT) == not_said


def test_a_denial_ends_with_its_clause_and_after_four_words() -> None:
    assert keys("no, it puckers", FAULT) == {"pucker"}
    assert keys("not that I have ever minded it puckers", FAULT) == {"pucker"}


def test_what_is_said_to_be_fine_is_denied() -> None:
    assert denied("The sleeves are fine. The collar gapes.", PLACE) == {"arm"}


@pytest.mark.parametrize(
    ("written", "key"), [("puckred", "pucker"), ("streched", "stretch"), ("bely", "belly"), ("butons", "button")]
)
def test_a_slip_is_forgiven_and_told(written: str, key: str) -> None:
    (word,) = hear(f"it is {written}").words
    assert word.meaning.key == key
    assert word.text == written
    assert word.read_as


@pytest.mark.parametrize("word", ["shine", "seems", "black", "first", "shirt", "please", "shoes"])
def test_an_ordinary_word_is_not_taken_for_a_slip(word: str) -> None:
    assert hear(f"the {word} of it").words == ()


def test_slips_are_those_of_the_optimal_string_alignment() -> None:
    """Closed cases: equal, one of each kind, and a swap that counts once."""
    pairs = {("seam", "seam"): 0, ("seam", "sean"): 1, ("seam", "sea"): 1, ("seam", "steam"): 1, ("seam", "saem"): 1}
    assert {pair: slips(*pair, most=2) for pair in pairs} == pairs
    assert slips("seam", "collar", most=2) == 3


def test_a_word_that_is_as_near_to_two_others_is_none_of_them() -> None:
    assert meant("bolly", ("belly", "bully")) is None
    assert meant("bolly", ("belly",)) == "belly"
    assert meant("skn", ("skin",)) is None


@pytest.mark.parametrize("word", ["show", "pucker", "gap", "belly", "stretch", "poke"])
def test_all_forms_of_a_word_have_one_stem(word: str) -> None:
    ends = {
        "belly": ["belly", "bellies"],
        "gap": ["gap", "gape", "gaping", "gaps"],
        "poke": ["poke", "pokes", "poking"],
    }
    forms = ends.get(word, [word, f"{word}s", f"{word}ed", f"{word}ing"])
    assert len({stem(form) for form in forms}) == 1


def test_every_fault_can_be_said_and_no_word_means_a_fault_that_is_none() -> None:
    meant_faults = {
        fault for found in vocabulary().phrases.values() for one in found if one.kind == FAULT for fault in one.means
    }
    assert meant_faults == set(FAULTS)


@pytest.mark.parametrize("text", ["please fix", "it is awful", "", "!!!", "worse than the last one"])
def test_a_note_that_names_nothing_is_vague(text: str) -> None:
    assert is_vague(hear(text))
