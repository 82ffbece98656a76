"""Lists of complaints as people keep them: CSV in any of its dialects, or JSON lines. Rows of text, nothing judged.

What a row means is no matter of the file; `jobs/case/import_complaints.py` reads it.
"""

import csv
import io
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from dressform.errors import FileError
from dressform.formats.guards.limits import read_bytes

MAX_LIST_BYTES = 64 * 1024**2
MAX_ROWS = 100_000
MAX_CELL = 100_000
DELIMITERS = ",;\t|"
LINES = (".jsonl", ".ndjson")
CSV_KINDS = (".csv", ".tsv", ".txt")
MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
"""Byte order marks, and the encoding that each stands for."""
WESTERN = "cp1252"
"""What is not UTF-8 is taken to be this, the commonest of the old ones in western Europe."""


@dataclass(frozen=True)
class ComplaintRow:
    """A row: what stands in each column, empty cells left out.

    Attributes:
        line: The line of the file that it begins in, counted from 1.
        cells: Text by the name of the column as the file has it.
    """

    line: int
    cells: dict[str, str]


@dataclass(frozen=True)
class UnreadRow:
    """A row that cannot be read.

    Attributes:
        line: The line of the file that it begins in, counted from 1.
        reason: Why, and what to do.
    """

    line: int
    reason: str


@dataclass(frozen=True)
class ComplaintRows:
    """A list of complaints.

    Attributes:
        columns: Names of the columns, in their order.
        rows: Rows that could be read.
        unread: Those that could not.
        notes: What was taken to be meant, one sentence each.
    """

    columns: tuple[str, ...]
    rows: tuple[ComplaintRow, ...]
    unread: tuple[UnreadRow, ...] = ()
    notes: tuple[str, ...] = field(default=())


def read_complaints(path: Path) -> ComplaintRows:
    """Read a list of complaints.

    A row that cannot be read is told with its line, and the others are read. Empty lines are skipped.

    Args:
        path: `.csv` (commas, semicolons, tabs or bars between cells; a first line with the names of the columns),
            `.tsv`, `.txt`, or `.jsonl`, `.ndjson` (one JSON object a line).

    Raises:
        FileError: it cannot be read, is too large, has another ending, is no text, or has no line with names.

    Proof: tests/formats/test_complaints_file.py
    """
    kind = path.suffix.lower()
    if kind not in (*LINES, *CSV_KINDS):
        advice = f"Save it as one of {', '.join((*CSV_KINDS, *LINES))}"
        raise FileError.of(path, "", f"ends with {kind or 'nothing'}", advice)
    text, notes = _decoded(path, read_bytes(path, most=MAX_LIST_BYTES))
    found = _of_lines(text) if kind in LINES else _of_csv(path, text)
    if len(found.rows) > MAX_ROWS:
        raise FileError.of(path, "", f"has more than {MAX_ROWS:,} rows", "Split it into several files")
    return ComplaintRows(found.columns, found.rows, found.unread, (*notes, *found.notes))


def _decoded(path: Path, data: bytes) -> tuple[str, tuple[str, ...]]:
    """The text, with a note where its encoding had to be guessed."""
    encoding = next((name for mark, name in MARKS if data.startswith(mark)), "utf-8")
    try:
        text, notes = data.decode(encoding), tuple[str, ...]()
    except UnicodeDecodeError:
        if encoding != "utf-8":
            raise FileError.of(path, "", f"is no text in {encoding}", "Save it as UTF-8") from None
        text = data.decode(WESTERN, errors="replace")
        notes = ("It is not UTF-8 and was read as Western European (Windows-1252): look at the accents.",)
    if "\0" in text:
        raise FileError.of(path, "", "is no text: it holds null bytes", "Export it as CSV in UTF-8")
    return text.replace("\r\n", "\n").replace("\r", "\n"), notes


def _of_lines(text: str) -> ComplaintRows:
    """JSON lines."""
    rows, unread, columns = [], [], dict[str, None]()
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            tree = json.loads(line)
        except (ValueError, RecursionError) as problem:
            unread.append(UnreadRow(number, f"is no JSON: {problem}. Write one object a line"))
            continue
        if not isinstance(tree, dict):
            unread.append(UnreadRow(number, f"is a JSON {type(tree).__name__}. Write one object a line"))
            continue
        cells = {str(name): cell for name, value in tree.items() if (cell := _plain(value))}
        columns |= dict.fromkeys(cells)
        rows.append(ComplaintRow(number, cells))
    return ComplaintRows(tuple(columns), tuple(rows), tuple(unread))


def _plain(value: object) -> str:
    """A JSON value as the text of a cell; an object as `name=value` with commas between."""
    if value is None or value is False:
        return ""
    if isinstance(value, dict):
        return ", ".join(f"{name}={_plain(one)}" for name, one in value.items())
    if isinstance(value, list):
        return ", ".join(_plain(one) for one in value)
    return f"{value:.10g}" if isinstance(value, float) else str(value).strip()


def _of_csv(path: Path, text: str) -> ComplaintRows:
    """CSV: the first line that is not empty names the columns."""
    lines = text.split("\n")
    first = next((number for number, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise FileError.of(path, "", "is empty", "Name a list with a line of column names and a row per complaint")
    delimiter = _delimiter(lines[first])
    parsed = list(_parsed(lines, first, delimiter))
    head = parsed[0]
    if isinstance(head, UnreadRow):
        raise FileError.of(path, f"line {head.line}", "names no columns", "Write their names into the first line")
    columns, notes = _named(head[1])
    if len([name for name in columns if name]) < 2:
        problem = f"names {len(columns)} column"
        raise FileError.of(path, f"line {head[0]}", problem, "Write names such as garment, note into the first line")
    rows: list[ComplaintRow] = []
    unread: list[UnreadRow] = []
    for one in parsed[1:]:
        if isinstance(one, UnreadRow):
            unread.append(one)
            continue
        line, cells = one
        beyond = [cell for cell in cells[len(columns) :] if cell.strip()]
        if beyond:
            reason = (
                f"has {len(cells)} cells under {len(columns)} columns. "
                f"Put a cell that holds {delimiter!r} between double quotes"
            )
            unread.append(UnreadRow(line, reason))
            continue
        told = {name: cell.strip() for name, cell in zip(columns, cells) if name and cell.strip()}
        if told:
            rows.append(ComplaintRow(line, told))
    return ComplaintRows(tuple(filter(None, columns)), tuple(rows), tuple(unread), notes)


def _delimiter(head: str) -> str:
    """What separates the names in the first line: the sign that stands there most often outside quotes."""
    bare = re.sub(r'"[^"]*"', "", head)
    return max(DELIMITERS, key=bare.count)


def _named(head: Sequence[str]) -> tuple[list[str], tuple[str, ...]]:
    """Names of the columns; one that comes again gets a number, one without a name is left empty."""
    seen: dict[str, int] = {}
    names, notes = [], []
    for cell in head:
        name = cell.strip()
        seen[name] = seen.get(name, 0) + 1
        if name and seen[name] > 1:
            notes.append(f"Two columns are called {name!r}: the first counts, the other is kept as a column unknown.")
            name = f"{name} ({seen[name]})"
        names.append(name)
    if "" in names and any(names):
        notes.append("A column without a name was left out.")
    return names, tuple(dict.fromkeys(notes))


def _parsed(lines: Sequence[str], first: int, delimiter: str) -> Iterator[tuple[int, list[str]] | UnreadRow]:
    """Rows with the line each begins in, counted from 1. A quote that is never closed costs its own line alone."""
    at = first
    while at < len(lines):
        if not lines[at].strip() or not lines[at].strip(delimiter + ' "'):
            at += 1
            continue
        end = _end(lines, at)
        if end is None:
            yield UnreadRow(at + 1, "opens a double quote that is never closed. Close it, or double it")
            at += 1
            continue
        try:
            source = io.StringIO("\n".join(lines[at : end + 1]))
            cells = next(csv.reader(source, delimiter=delimiter, skipinitialspace=True))
        except (csv.Error, StopIteration) as problem:
            yield UnreadRow(at + 1, f"is no CSV: {problem}")
        else:
            if any(len(cell) > MAX_CELL for cell in cells):
                yield UnreadRow(at + 1, f"has a cell of more than {MAX_CELL:,} letters")
            else:
                yield at + 1, cells
        at = end + 1


def _end(lines: Sequence[str], at: int, *, most: int = 200) -> int | None:
    """The last line of the row that begins in a line: quotes are even there. None where they never are."""
    open_ = False
    for end in range(at, min(len(lines), at + most)):
        open_ ^= lines[end].count('"') % 2 == 1
        if not open_:
            return end
    return None
