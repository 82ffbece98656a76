"""The gate: from which severity on a garment fails, what an excuse is worth, and for how long."""

from datetime import timedelta

import pytest

from dressform.formats.gate.rules_file import Rules
from dressform.formats.results.failed import FailedGarment
from gates import TODAY, excuse, fault, line, verdict


@pytest.mark.parametrize(
    ("fail_on", "failing"), [("slight", ["a", "b", "c"]), ("moderate", ["a", "b"]), ("grave", ["a"])]
)
def test_a_garment_fails_from_the_severity_that_is_asked_for(fail_on: str, failing: list[str]) -> None:
    lines = [line("a", fault(severity="grave")), line("b", fault()), line("c", fault(severity="slight")), line("d")]
    found = verdict(*lines, rules=Rules(fail_on=fail_on))
    assert [one.line.name for one in found.failing] == failing
    assert not found.passes


def test_an_excuse_holds_to_the_end_of_its_last_day_and_then_counts_again_and_is_told() -> None:
    lines = [line("oilskin", fault())]
    assert verdict(*lines, rules=Rules(excuses=(excuse(TODAY),))).passes
    late = verdict(*lines, rules=Rules(excuses=(excuse(TODAY - timedelta(days=1)),)))
    assert not late.passes
    assert len(late.expired) == 1
    assert "its excuse ran out on 2026-11-29" in late.failing[0].reasons[0]


def test_an_excuse_is_for_its_garments_fault_and_stances_alone() -> None:
    until = TODAY + timedelta(days=9)
    rules = Rules(excuses=(excuse(until, stances=("kneel*",)),))
    assert verdict(line("oilskin", fault(stance="kneeling")), rules=rules).passes
    for other in (line("oilskin", fault()), line("guernsey", fault(stance="kneeling")),
                  line("oilskin", fault("exposed", stance="kneeling"))):  # fmt: skip
        found = verdict(other, rules=rules)
        assert not found.passes
        assert found.idle == rules.excuses
    rest = Rules(excuses=(excuse(until, stances=("",), name=""),))
    assert verdict(line("oilskin", fault(), fault("exposed")), rules=rest).passes


def test_another_fault_of_an_excused_garment_still_fails_it() -> None:
    found = verdict(line("oilskin", fault(), fault("exposed")), rules=Rules(excuses=(excuse(TODAY),)))
    assert [one.fault.fault for one in found.failing[0].counted] == ["exposed"]
    assert [one.fault.fault for one in found.failing[0].excused] == ["pucker"]


def test_cloth_that_is_tucked_in_fails_beyond_what_is_allowed_of_that_garment() -> None:
    rules = Rules(tucks_cm2=20.0, tucks_of={"boot*": 120.0})
    found = verdict(line("boots", tucked=100), line("shirt", tucked=30), line("cap", tucked=20), rules=rules)
    assert [one.line.name for one in found.failing] == ["shirt"]
    assert found.failing[0].reasons == ("tucked in: 30 cm² at waist, 20 allowed",)


def test_a_garment_of_which_nothing_is_known_is_never_accepted() -> None:
    broken = FailedGarment(name="bad", file="bad.glb", stage="read", reason="no glTF")
    assert not verdict(line("a"), failed=(broken,)).passes
