"""Few and different: places with one cause are one action, what has no cause stands below."""

import io

from msgspec import structs
from rich.console import Console
from rich.table import Table

from dressform.causes.action import Action, Effect, Tried, action_name
from dressform.causes.actions.words import effect_words, place_names
from dressform.causes.results import GARMENT, TOO_FEW_VERTICES, TOO_TIGHT
from dressform.report.tables.actions import ACTIONS_SHOWN, actions_table, uncaused_table
from explanations import cluster, explanation
from findings import MORPHS, garment_report, place

CURES = Tried("let it out", GARMENT, ("1", "2"), (Effect("exposed", 12.0, 0.0, "cm²"),), (), True, 1.0)
HARMS = Tried(
    "draw it in", GARMENT, (), (Effect("exposed", 12.0, 11.0, "cm²"),), (Effect("depth", 0.0, 9.0, "mm"),), False, 0.1
)


def action(name: str, *tried: Tried, places: tuple[str, ...] = ("1", "2")) -> Action:
    return Action(name, TOO_TIGHT, "", GARMENT, "belly, 94 to 121 cm above the ground", places, 0.02, 8, tried)


def printed(table: Table | None, *, width: int = 120) -> str:
    assert table is not None
    stream = io.StringIO()
    Console(file=stream, width=width, force_terminal=False).print(table)
    return "\n".join(line.rstrip() for line in stream.getvalue().splitlines())


def test_an_action_is_told_with_its_places_and_what_it_left() -> None:
    text = printed(actions_table(garment_report(), [action("A", CURES)], [explanation(TOO_TIGHT)], MORPHS))
    assert text == (
        "guernsey (smooth): what to do\n"
        "A  moderate skin shows, 12 cm², at belly=1: front panel, torso, front left\n"
        "   places 1 and 2: belly, 94 to 121 cm above the ground\n"
        "   cause: too tight by design; it lies with the garment\n"
        "   do: let it out\n"
        "       cures all 2 places: skin shows 12 → 0 cm²; nothing gets graver"
    )


def test_where_nothing_helps_the_nearest_is_told_with_what_it_spoils() -> None:
    text = " ".join(printed(actions_table(garment_report(), [action("A", HARMS)], [], MORPHS)).split())
    assert "do: " not in text
    assert "no remedy that was tried helps; the nearest was: draw it in (skin shows 12 → 11 cm²" in text
    assert "but graver: cloth deep in the body 0 → 9 mm)" in text


def test_where_no_split_cures_it_is_said_that_the_patch_must_be_modelled_anew() -> None:
    vain = structs.replace(action("A", HARMS, HARMS), cause=TOO_FEW_VERTICES)
    text = " ".join(printed(actions_table(garment_report(), [vain], [], MORPHS)).split())
    assert "splitting its triangles, tried in 2 ways, does not cure this without spoiling something" in text
    assert "has to be modelled anew with more vertices, which could not be tried; no remedy" in text
    other = " ".join(printed(actions_table(garment_report(), [action("A", HARMS)], [], MORPHS)).split())
    assert "anew" not in other


def test_what_raises_the_fault_is_never_called_near_to_helping() -> None:
    raised = Effect("pucker", 75.7, 91.9, "‱", "slight", "slight")
    worse = Tried("draw it in", GARMENT, (), (raised,), (), False, 0.3)
    text = " ".join(printed(actions_table(garment_report(), [action("A", worse)], [], MORPHS)).split())
    assert (
        "no remedy is advised: the one that was tried helps too little or spoils something, as: draw it in "
        "(puckered 76 → 92 ‱ (rises within its band, slight)" in text
    )
    for words in ("best", "nearest", "cures"):
        assert words not in text
    graver = Effect("pucker", 75.7, 210.0, "‱", "slight", "moderate")
    assert "(rises from slight to moderate)" in effect_words(Tried("x", GARMENT, (), (graver,), (), False, 0.0))


def test_more_than_five_actions_are_counted() -> None:
    many = [action(str(number), CURES, places=(str(number),)) for number in range(1, ACTIONS_SHOWN + 4)]
    text = printed(actions_table(garment_report(), many, [], MORPHS))
    assert text.count("do: ") == ACTIONS_SHOWN
    assert "and 3 actions more, for 3 places" in text


def test_what_has_no_cause_stands_below_with_the_best_that_was_tried() -> None:
    slight = explanation("", of=cluster("2", at=place(severity="slight")))
    text = printed(uncaused_table(garment_report(), [explanation(), explanation(""), slight], MORPHS))
    assert text.count("cause: none found; at most 90 % of it goes, with another 0") == 1
    assert "and 1 place less noticed" in text
    assert uncaused_table(garment_report(), [explanation(), slight], MORPHS) is None


def test_mirror_images_without_a_cause_are_told_once() -> None:
    other = structs.replace(place(), side="front right")
    back = structs.replace(place(), side="back right")
    low = structs.replace(place(), side="front right", height_mm=900.0)
    said = [explanation("", of=cluster(str(n), at=at)) for n, at in enumerate((place(), back, low, other), start=1)]
    text = printed(uncaused_table(garment_report(), said, MORPHS))
    assert [line.split("moderate")[0].strip() for line in text.splitlines() if "skin shows" in line] == [
        "1, 4",
        "2",
        "3",
    ]
    assert "less noticed" not in text


def test_actions_have_letters_since_places_have_numbers() -> None:
    names = [action_name(number) for number in range(1, 26 + 26 * 26 + 2)]
    assert names[:2] + names[25:28] + names[-2:] == ["A", "B", "Z", "AA", "AB", "ZZ", "AAA"]
    assert len(set(names)) == len(names)


def test_the_places_of_an_action_are_named_in_runs() -> None:
    assert place_names(action("A", places=("9", "2", "1", "3", "19", "20"))) == "places 1–3, 9, 19 and 20"
    assert place_names(action("A", places=("2",))) == "place 2"
