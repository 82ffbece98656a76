"""Names of files, morphs and parts are printed as names: they send no codes, and are no markup."""

import io

import pytest
from rich.table import Table
from rich.text import Text

from dressform.report.tables.clean_console import CleanConsole

BAD = "\x1b[31mred\x07\x9b2J\u202egnp"
SPELT = "\\x1b[31mred\\x9b2J\\u202egnp"


@pytest.mark.parametrize("terminal", [False, True])
def test_no_name_sends_control_codes(terminal: bool) -> None:
    stream = io.StringIO()
    console = CleanConsole(file=stream, width=120, force_terminal=terminal, color_system=None, highlight=False)
    table = Table(title=BAD)
    table.add_column(BAD)
    table.add_row(BAD)
    for shown in (BAD, Text(BAD), table):
        console.print(shown)
    said = stream.getvalue()
    for code in ("\x1b[31m", "\x9b", "\u202e", "\x07"):
        assert code not in said
    assert said.count(SPELT) == 3
    assert said.count("\\x1b[31mred") == 5  # narrow cells of a table cut the rest


def test_name_that_looks_like_markup_is_printed_as_it_is() -> None:
    stream = io.StringIO()
    CleanConsole(file=stream, width=120).print("[/bold] of [red]guernsey[/red] :smile:")
    assert stream.getvalue() == "[/bold] of [red]guernsey[/red] :smile:\n"
