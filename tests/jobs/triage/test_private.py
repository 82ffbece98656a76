"""Who complains and where never stands in what others read."""

import pytest

from dressform.jobs.triage.private import HIDDEN, without_names


@pytest.mark.parametrize(
    ("note", "left"),
    [
        ("Write to ada@salt.example please", f"Write to {HIDDEN} please"),
        ("see https://salt.example/x?y=1 there", f"see {HIDDEN} there"),
        ("see www.salt.example", f"see {HIDDEN}"),
        ("ask @ada_b", f"ask {HIDDEN}"),
        ("call +44 1234 567890 now", f"call {HIDDEN} now"),
        ("I am Ada, ADA BRACK", f"I am {HIDDEN}, {HIDDEN}"),
        ("as on board/1402", f"as on {HIDDEN}"),
        ("Adamant skin at 98 cm, 36.6 cm² of it", "Adamant skin at 98 cm, 36.6 cm² of it"),
    ],
)
def test_links_addresses_and_the_writers_name_are_left_out(note: str, left: str) -> None:
    assert without_names(note, who="Ada Brack", link="board/1402") == left
