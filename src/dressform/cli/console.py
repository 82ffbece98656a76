"""Console output: results to stdout, errors and progress to stderr; control codes only on a terminal."""

import io
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol, runtime_checkable

from rich.console import Console
from rich.progress import BarColumn, TextColumn, TimeElapsedColumn, TimeRemainingColumn
from rich.progress import Progress as Bar

from dressform.report.tables.clean_console import CleanConsole

PLAIN_WIDTH = 180  # of a table that goes to a file or a pipe


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
    """A console that raises on a broken pipe, so that `run` can decide the exit code."""

    def on_broken_pipe(self) -> None:
        """Raise instead of ending with 1, which means faults here."""
        raise BrokenPipeError


class Trimmed(io.TextIOBase):
    """stdout without the blanks with which tables fill their lines."""

    @property
    def encoding(self) -> str:  # type: ignore[override]  # io declares an attribute, which C fills
        """That of stdout."""
        return sys.stdout.encoding

    def write(self, text: str) -> int:
        """Write text, each of whose lines is whole."""
        sys.stdout.write(re.sub(r" +(?=\n)", "", text))
        return len(text)

    def flush(self) -> None:
        """Flush stdout."""
        sys.stdout.flush()


def out() -> Console:
    """Results. Tables get the terminal's width, or one at which no figure is cut."""
    if sys.stdout.isatty():
        return ResultsConsole(file=sys.stdout, highlight=False, soft_wrap=False)
    return ResultsConsole(file=Trimmed(), width=PLAIN_WIDTH, highlight=False, soft_wrap=False)


def print_notes(console: Console, *read: Noted) -> None:
    """What must be known of the files that were read: first of all that one was turned or scaled."""
    for one in read:
        for note in one.notes:
            console.print(f"note: {one.name}: {note}", soft_wrap=True)


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
    if not console.is_terminal:
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
    if not console.is_terminal:
        yield
        return
    with console.status(words):
        yield
