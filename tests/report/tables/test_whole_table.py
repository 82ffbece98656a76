"""Tables stay whole at any width: columns where they fit, lines where they do not, and tabs on request."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.text import Text

from dressform.report.tables.text import table_text
from dressform.report.tables.whole_table import WholeTable

WORDS = st.text("abcdefg-_", min_size=1, max_size=14)
CELLS = st.lists(WORDS, max_size=6).map(" ".join)


def table(rows: list[list[str]], headings: list[str]) -> WholeTable:
    made = WholeTable("A title")
    for heading in headings:
        made.add_column(heading)
    for row in rows:
        made.add_row(*row)
    return made


@given(
    rows=st.lists(st.lists(CELLS, min_size=4, max_size=4), min_size=1, max_size=4),
    width=st.integers(min_value=20, max_value=140),
)
def test_no_width_breaks_a_word_or_drops_one(rows: list[list[str]], width: int) -> None:
    text = table_text(table(rows, ["one", "two", "three", "four"]), width=width)
    assert max(len(line) for line in text.splitlines()) <= width
    said = re.findall(r"[^\s;]+", text)
    assert [word for row in rows for cell in row for word in cell.split() if word not in said] == []


def test_wide_terminal_gets_columns_and_narrow_one_lines_under_the_first_cell() -> None:
    made = table([["guernsey", "moderate", "skin shows in front", "12"]], ["garment", "verdict", "for", "cm²"])
    assert table_text(made, width=80).splitlines()[1].split() == ["garment", "verdict", "for", "cm²"]
    assert table_text(made, width=24).splitlines()[1:] == [
        "guernsey",
        "    verdict: moderate;",
        "    for: skin shows in",
        "    front; cm²: 12",
    ]


def test_cells_that_say_nothing_are_left_out_of_lines() -> None:
    made = table([["guernsey", "–", "", "12"]], ["garment", "verdict", "for", "cm²"])
    assert table_text(made, width=12).splitlines()[1:] == ["guernsey", "    cm²: 12"]


@pytest.mark.parametrize("width", [40, 200])
def test_colours_do_not_change_what_is_said(width: int) -> None:
    plain, coloured = (WholeTable("t", lead=1) for _ in range(2))
    for made, cell in ((plain, "grave"), (coloured, Text("grave", style="red"))):
        made.add_column("verdict")
        made.add_row(cell)
    assert table_text(plain, width=width) == table_text(coloured, width=width)


def test_tab_separated_values_hold_every_cell_and_no_line_break_within_one() -> None:
    made = table([["a b", "c\nd", Text("e"), "f\tg"]], ["one", "two\nlines", "three", "four"])  # type: ignore[list-item]
    assert made.tab_separated() == "one\ttwo lines\tthree\tfour\na b\tc d\te\tf g\n"


def test_no_name_sends_a_control_code_through_tab_separated_values() -> None:
    assert table([["\x1b[31m\u202e"]], ["name"]).tab_separated() == "name\n\\x1b[31m\\u202e\n"


@pytest.mark.parametrize("rows", [0, 1])
def test_what_stands_above_and_below_is_not_broken_at_the_width_of_the_columns(rows: int) -> None:
    short = WholeTable(
        "guernsey (smooth): places by number, why, and what to change", caption="and 5 places less noticed"
    )
    short.add_column("at")
    for number in range(rows):
        short.add_row(str(number))
    lines = table_text(short).splitlines()
    assert lines[0].rstrip() == "guernsey (smooth): places by number, why, and what to change"
    assert lines[-1].rstrip() == "and 5 places less noticed"


def test_a_wrapped_line_keeps_its_indent() -> None:
    told = WholeTable(show_header=False)
    told.add_column()
    told.add_row("do: split the triangles there\n    cures six of eight places: skin shows no more")
    lines = [line.rstrip() for line in table_text(told, width=30).splitlines()]
    assert lines == ["do: split the triangles there", "    cures six of eight places:", "    skin shows no more"]


def test_no_cell_of_tab_separated_values_is_a_formula_and_figures_stay_as_they_are() -> None:
    made = table([["=1+1", "-2.5 mm"], ["@SUM(A1)", "+3"]], ["name", "moved"]).tab_separated()
    assert made == "name\tmoved\n'=1+1\t-2.5 mm\n'@SUM(A1)\t+3\n"
