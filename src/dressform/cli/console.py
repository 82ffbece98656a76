"""Console output: results to stdout, errors and progress to stderr; control codes only on a terminal."""

import io
import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Protocol, runtime_checkable

from rich.console import Console
from rich.progress import BarColumn, TextColumn, TimeElapsedColumn, TimeRemainingColumn
from rich.progress import Progress as Bar

from dressform.cli.outputs import results_stream, stdout_is_file
from dressform.cli.telling import telling
from dressform.report.tables.clean_console import CleanConsole
from dressform.report.tables.text import told_once
from dressform.report.tables.whole_table import WholeTable, hung

PLAIN_WIDTH = 180  # of a table that goes to a file or a pipe
UNCUT_WIDTH = 10_000  # at which no column is left out


@runtime_checkable
class Noted(Protocol):
    """A body or a garment."""

    @property
    def name(self) -> str:
        """Its name."""

    @property
    def notes(self) -> tuple[str, ...]:
        """What is doubtful about it, one sentence each."""


class ResultsConsole(CleanConsole):
    """A console that raises on a broken pipe, so that `run` can decide the exit code, and wraps no words for a pipe."""

    def print(self, *objects: Any, **options: Any) -> None:
        """Print; words, and names of files among them, are broken on a terminal alone."""
        if not self.is_terminal and all(isinstance(one, str) for one in objects):
            options["soft_wrap"] = True
        else:
            objects = tuple(hung(one) for one in objects)
        super().print(*objects, **options)

    def on_broken_pipe(self) -> None:
        """Raise instead of ending with 1, which means faults here."""
        raise BrokenPipeError


class Trimmed(io.TextIOBase):
    """stdout, or stderr where that is taken, without the blanks with which tables fill their lines."""

    @property
    def encoding(self) -> str:  # type: ignore[override]  # io declares an attribute, which C fills
        """Its own."""
        return results_stream().encoding

    def write(self, text: str) -> int:
        """Write text, each of whose lines is whole."""
        results_stream().write(re.sub(r" +(?=\n)", "", text))
        return len(text)

    def flush(self) -> None:
        """Flush it."""
        results_stream().flush()


class FirstLineConsole(ResultsConsole):
    """Prints the first line alone."""

    def print(self, *objects: Any, **options: Any) -> None:
        """Print, where nothing was printed yet."""
        if not self.quiet:
            first = [one.splitlines()[0] if isinstance(one, str) and one else one for one in objects]
            super().print(*first, **options | {"soft_wrap": True})
            self.quiet = True


class TsvConsole(ResultsConsole):
    """Prints the first table alone, with a tab between cells."""

    def print(self, *objects: Any, **options: Any) -> None:
        """Print a table, where none was printed yet."""
        tables = [one for one in objects if isinstance(one, WholeTable)]
        if tables and not self.quiet:
            self.file.write(tables[0].tab_separated())
            self.quiet = True


def out() -> Console:
    """Results. Tables get the width of the terminal, that of COLUMNS, or one at which no figure is cut.

    They go to stderr where stdout carries a file that was asked for by `-`.
    """
    how, is_terminal = telling(), sys.stdout.isatty() and not stdout_is_file()
    kind = TsvConsole if how.tsv else FirstLineConsole if how.quiet else ResultsConsole
    if how.tsv:
        return kind(file=Trimmed(), width=UNCUT_WIDTH)
    if is_terminal:
        return kind(file=sys.stdout, highlight=False, soft_wrap=False)
    columns = os.environ.get("COLUMNS", "")
    width = int(columns) if columns.isdecimal() and int(columns) > 0 else PLAIN_WIDTH
    return kind(file=Trimmed(), width=width, highlight=False, soft_wrap=False)


def print_notes(console: Console, *read: Noted) -> None:
    """What must be known of the files that were read: first of all that one was turned or scaled."""
    for name, note in told_once((one.name, one.notes) for one in read):
        console.print(f"note: {name}: {note}")


class Advance(Protocol):
    """Called with how much is done, how much there is, and what is being done where that changes."""

    def __call__(self, done: int, of: int, words: str = ...) -> None:
        """So far."""


@contextmanager
def progress(title: str) -> Iterator[Advance]:
    """A bar with the time that is left, on stderr; silent where stderr is no terminal.

    Args:
        title: Words beside the bar, until a stage is told.
    """
    console = Console(file=sys.stderr)
    if not (console.is_terminal and telling().progress):
        yield lambda done, of, words="": None
        return
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.completed:.0f}/{task.total:.0f}"),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
    )
    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task(title, total=1)

        def advance(done: int, of: int, words: str = title) -> None:
            bar.update(task, completed=done, total=of, description=words)

        yield advance


@contextmanager
def waiting(words: str) -> Iterator[None]:
    """A sign of life on stderr while something takes a time that is not known; silent where stderr is no terminal."""
    console = Console(file=sys.stderr)
    if not (console.is_terminal and telling().progress):
        yield
        return
    with console.status(words):
        yield
