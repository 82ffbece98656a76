"""No cell of a CSV is a formula to a spreadsheet."""

import pytest

from dressform.formats.results.spreadsheet import safe_cell, safe_row


@pytest.mark.parametrize("text", ["=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1"])
def test_a_text_that_would_be_a_formula_gets_an_apostrophe(text: str) -> None:
    assert safe_cell(text) == f"'{text}"


@pytest.mark.parametrize("value", ["", "guernsey", "a=b", "belly=-0.5", -0.5, 3, None, True])
def test_any_other_value_stays_as_it_is(value: object) -> None:
    assert safe_cell(value) is value


def test_every_cell_of_a_row_is_made_safe_and_its_heading_kept() -> None:
    assert safe_row({"garment": "=1+1", "value": -2.0}) == {"garment": "'=1+1", "value": -2.0}
