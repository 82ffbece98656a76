"""The rules TOML is read whole, or refused with the place that is wrong."""

from datetime import date
from pathlib import Path

import pytest

from dressform.errors import FileError
from dressform.formats.gate.rules_file import read_rules

HEAD = 'schema = "dressform-rules/1"\n'
WHOLE = (
    HEAD
    + """
fail_on = "grave"
[bands]
depth = [1, 3, 10]
[tucks]
most_cm2 = 30
garments = { "boots*" = 120 }
[[excused]]
garment = "oilskin*"
fault = "pucker"
stances = ["kneel*"]
reason = "Old stock"
until = 2027-03-31
"""
)


def test_every_key_is_read(tmp_path: Path) -> None:
    path = tmp_path / "rules.toml"
    path.write_text(WHOLE)
    rules = read_rules(path)
    assert rules.fail_on == "grave"
    assert rules.bands is not None
    assert rules.bands["depth"] == (0.001, 0.003, 0.01)
    assert (rules.tucks_allowed("boots-2"), rules.tucks_allowed("shirt")) == (120, 30)
    assert rules.excuses[0].until == date(2027, 3, 31)
    assert rules.excuses[0].words == "oilskin*, pucker: Old stock (until 2027-03-31)"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("fail_on = 'grave'", "lacks the key schema"),
        ('schema = "dressform-rules/9"', "schema: is 'dressform-rules/9'"),
        (HEAD + 'fail_on = "clean"', "fail_on: is 'clean'. Use slight, moderate, grave"),
        (HEAD + "colour = 1", "colour: is no key here"),
        (HEAD + "[tucks]\nmost_cm2 = -1", "tucks.most_cm2: is -1"),
        (HEAD + "[bands]\nglue = [1, 2, 3]", "must be named in_front"),
        (HEAD + '[[excused]]\ngarment = "a"\nreason = "b"', "lacks the key until"),
        (HEAD + '[[excused]]\ngarment = "a"\nreason = " "\nuntil = 2027-01-01', r"excused\[0\].reason: is empty"),
        (HEAD + '[[excused]]\ngarment = "a"\nreason = "b"\nuntil = "soon"', "until"),
        (HEAD + '[[excused]]\ngarment = "a"\nuntl = 2027-01-01', "untl: is no key here. Use garment, reason, until"),
        (
            HEAD + '[[excused]]\ngarment = "a"\nreason = "b"\nuntil = 2027-01-01\nfault = "glue"',
            "is 'glue'. Use one of",
        ),
    ],
)
def test_what_is_wrong_is_named(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "rules.toml"
    path.write_text(text)
    with pytest.raises(FileError, match=said):
        read_rules(path)
