"""Cells of a table that a spreadsheet takes as text.

A cell that begins with one of a few characters is a formula to a spreadsheet, whoever wrote it: a garment named
`=cmd(…)` would run. An apostrophe before it makes it text, as is common practice; numbers stay as they are, with
their unit too, since no formula is made of a number alone. Exports and tables with tabs follow this one rule.
"""

import re
from collections.abc import Mapping
from typing import Any

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
TEXT_MARK = "'"
FIGURE = re.compile(r"[+-][0-9]+([.,][0-9]+)*( ?[%°a-zµ²³]{1,4})?")
"""A number with its sign, perhaps with a unit."""


def safe_cell(value: Any) -> Any:
    """The value, with an apostrophe before a text that a spreadsheet would take for a formula.

    Proof: tests/formats/results/test_spreadsheet.py
    """
    if not isinstance(value, str) or not value.startswith(FORMULA_STARTS) or FIGURE.fullmatch(value):
        return value
    return f"{TEXT_MARK}{value}"


def safe_row(row: Mapping[str, Any]) -> dict[str, Any]:
    """A row with every cell so."""
    return {name: safe_cell(value) for name, value in row.items()}
