"""Names of files, morphs and parts are printed as names: they send no codes, and are no markup."""

import io
import subprocess
import sys
from types import SimpleNamespace

import pytest
from rich.table import Table
from rich.text import Text

from dressform.cli.console import ResultsConsole, out, print_notes
from dressform.report.tables.clean_console import CleanConsole
from dressform.version import __version__

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


@pytest.mark.parametrize("terminal", [True, False])
def test_notes_are_wrapped_between_words_on_a_terminal_and_whole_in_a_pipe(terminal: bool) -> None:
    words = "It is open along 198 edges, and its longest edge is three times as long as the shortest beside it."
    noted = SimpleNamespace(name="guernsey", notes=(words,))
    stream = io.StringIO()
    print_notes(ResultsConsole(file=stream, width=40, force_terminal=terminal, color_system=None), noted)
    lines = stream.getvalue().splitlines()
    assert " ".join(line.strip() for line in lines) == f"note: guernsey: {words}"
    assert (max(map(len, lines)) <= 40) is terminal
    assert (len(lines) == 1) is not terminal


def test_lines_that_go_to_a_pipe_end_without_blanks(capsys: pytest.CaptureFixture[str]) -> None:
    console = out()
    table = Table(title="A title", title_justify="left", box=None)
    table.add_column("name")
    table.add_column("words")
    table.add_row("short", "")
    table.add_row("a longer name", "and words")
    console.print(table)
    console.print("done")
    lines = capsys.readouterr().out.splitlines()
    assert [line.rstrip() for line in lines] == lines
    assert [" ".join(line.split()) for line in lines] == [
        "A title",
        "name words",
        "short",
        "a longer name and words",
        "done",
    ]


def test_the_package_is_the_command_line() -> None:
    done = subprocess.run([sys.executable, "-m", "dressform", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == __version__
