"""What was sewn in is set beside what was found: over the whole cloth, at a place, or missed."""

import io
from dataclasses import replace

import pytest
from msgspec import structs
from rich.console import Console

from dressform.causes.results import TOO_TIGHT, Explanation
from dressform.cli.seeded_truth import seeded_truth_table
from dressform.demo.wardrobe_truth import FaultyGarment
from dressform.formats.results.check_report import ShapeRow
from explanations import causes, cluster, explanation
from findings import check_report, faults, garment_report, place
from phantoms import phantom_body

BELLY = (1.0, 0.0, 0.0)


def told(
    row: ShapeRow, *, shape: dict[str, float], at_base: tuple[str, ...] = (), explained: tuple[Explanation, ...] = ()
) -> str:
    wrong = FaultyGarment(
        "guernsey", "faulty", "too tight", shape, ("torso",), (0.9, 1.1), ("pucker",), wrong_at_base=at_base
    )
    checked = {
        "faulty": (phantom_body(), replace(check_report(garment_report(rows=(row,))), causes=causes(*explained)))
    }
    stream = io.StringIO()
    Console(file=stream, width=200).print(seeded_truth_table((wrong,), checked))
    return stream.getvalue()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (ShapeRow("belly=1", faults(weights=BELLY, fault="pucker", severity="grave"), 0.1), "puckered: grave"),
        (
            ShapeRow("belly=1", faults(weights=BELLY, places=(place("pucker", severity="slight"),)), 0.1),
            "puckered: slight at front panel, torso, front left",
        ),
        (
            ShapeRow("belly=1", faults(weights=BELLY, places=(place("clearance", severity="grave"),)), 0.1),
            "puckered: missed",
        ),
        (ShapeRow("girth=1", faults(weights=(0.0, 1.0, 0.0), fault="pucker", severity="grave"), 0.1), "missed"),
    ],
)
def test_a_seeded_fault_is_told_as_it_was_found(row: ShapeRow, said: str) -> None:
    assert said in told(row, shape={"belly": 1.0})


def test_what_is_wrong_at_the_base_is_told_in_its_own_unit() -> None:
    row = ShapeRow("base", faults(weights=(0.0, 0.0, 0.0)), 0.1)
    text = told(row, shape={}, at_base=("ease", "own_inside"))
    assert "ease at the base: waist 12 cm" in text
    assert f"inside at the base: {row.faults.show_through.own_inside_share:.1%}" in text


def test_the_cause_that_was_found_stands_beside_the_truth() -> None:
    row = ShapeRow("belly=1", faults(weights=BELLY, fault="pucker", severity="grave"), 0.1)
    elsewhere = cluster("1", at=structs.replace(place("pucker"), region="foot_l"))
    every = (
        explanation(of=elsewhere),
        explanation(of=cluster("2", fault="exposed")),
        explanation("", of=cluster("3", fault="pucker")),
        explanation(TOO_TIGHT, of=cluster("4", fault="pucker")),
    )
    text = told(row, shape={"belly": 1.0}, explained=every)
    assert f"{TOO_TIGHT}, 90% (place 4)" in text
    assert told(row, shape={"belly": 1.0}, explained=every[:3]).rstrip().endswith("missed")
