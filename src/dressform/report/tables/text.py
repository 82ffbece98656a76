"""What a console would show, as plain text."""

import io
from collections.abc import Callable, Iterable, Sequence

from rich.console import Console

from dressform.report.tables.clean_console import CleanConsole
from dressform.report.tables.whole_table import WholeTable

WIDTH = 120
"""Characters."""
WIDE_WIDTH = 180
"""Characters of a table that goes to a file."""


def printed_text(show: Callable[[Console], None], *, width: int = WIDTH) -> str:
    """What `show` prints, without colours, no line longer than `width`."""
    stream = io.StringIO()
    show(CleanConsole(file=stream, width=width, color_system=None, highlight=False))
    return "\n".join(line.rstrip() for line in stream.getvalue().splitlines())


def table_text(table: WholeTable, *, width: int = WIDTH) -> str:
    """The table without colours, no line longer than `width`."""
    return printed_text(lambda console: console.print(table), width=width)


def told_once(noted: Iterable[tuple[str, Sequence[str]]]) -> list[tuple[str, str]]:
    """Each note once, with the names of all that have it, in the order in which notes first come.

    Args:
        noted: Names with their notes.

    Proof: tests/report/tables/test_told_once.py
    """
    names: dict[str, list[str]] = {}
    for name, notes in noted:
        for note in notes:
            known = names.setdefault(note, [])
            if name not in known:
                known.append(name)
    return [(", ".join(known), note) for note, known in names.items()]
