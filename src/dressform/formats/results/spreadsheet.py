"""Cells of a table that a spreadsheet takes as text.

A cell that begins with one of a few characters is a formula to a spreadsheet, whoever wrote it: a garment named
`=cmd(…)` would run. An apostrophe before it makes it text, as is common practice; numbers stay as they are.
"""

from collections.abc import Mapping
from typing import Any

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
TEXT_MARK = "'"


def safe_cell(value: Any) -> Any:
    """The value, with an apostrophe before a text that a spreadsheet would take for a formula.

    Proof: tests/formats/results/test_spreadsheet.py
    """
    return f"{TEXT_MARK}{value}" if isinstance(value, str) and value.startswith(FORMULA_STARTS) else value


def safe_row(row: Mapping[str, Any]) -> dict[str, Any]:
    """A row with every cell so."""
    return {name: safe_cell(value) for name, value in row.items()}
