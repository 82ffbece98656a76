"""A repair says what is still seen at the stances that it was asked for, not at rest alone."""

from dataclasses import replace

import pytest

import dressform as df
from dressform.jobs.repair import Repaired
from dressform.report.tables.receipt import receipt_table, seen_at
from dressform.report.tables.text import table_text
from seeded_joints import BEND, FAULTS, body, fitted, sleeve


@pytest.fixture(scope="module")
def stiff() -> Repaired:
    """A sleeve whose own joint weights bend at another place than the limb, as it is."""
    return df.repair(fitted(sleeve(FAULTS[0]), body()), repairs=(), shapes=0, stances=[BEND])


def test_what_is_seen_at_a_stance_alone_makes_a_repair_faulty_there(stiff: Repaired) -> None:
    assert not replace(stiff, stances=()).faulty
    assert stiff.faulty
    assert stiff.faulty_stances == (BEND.name,)


def test_receipt_names_the_stance_and_how_much_is_seen(stiff: Repaired) -> None:
    (area,) = seen_at(stiff.after_at_stances).values()
    assert area > 5.0
    assert f"skin shows at {BEND.name}, worst shape tried, cm²" in table_text(receipt_table(stiff.receipt))
