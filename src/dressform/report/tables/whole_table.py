"""Tables that are read whole at any width: columns where they fit, else lines. Also as tab-separated values."""

from collections.abc import Iterator, Sequence

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, Group, RenderableType
from rich.padding import Padding
from rich.segment import Segment
from rich.table import Table
from rich.text import Text

from dressform.formats.results.spreadsheet import safe_cell
from dressform.report.tables.clean_console import spelt_out

NOTHING = "–"
INDENT = 4
TALLEST = 3
"""A cell is given the width at which it has about so many lines, where its words are short."""
LONGEST_WANTED = 24
"""Characters of width that a cell of many lines may ask for."""


class WholeTable(Table):
    """A table without lines that breaks no word and drops no cell.

    Where its columns do not fit the width, each row becomes a line of its first cells and, set in, all others behind
    their headings.

    Args:
        title: What stands above it, bold.
        lead: So many cells stand on the first line of a row that is written in lines.
        options: Those of `rich.table.Table`.
    """

    def __init__(self, title: str | None = None, *, lead: int = 1, **options: object) -> None:
        plain = {"title_justify": "left", "title_style": "bold", "box": None, "pad_edge": False, "header_style": "dim"}
        super().__init__(title=title, **{**plain, **options})  # type: ignore[arg-type]  # told by name
        self.lead = lead

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[RenderableType | Segment]:
        """In columns, or else in lines."""
        widths = self._widths(options.max_width)
        if widths is None:
            yield from self._lines()
            return
        for column, width in zip(self.columns, widths):
            column.width = width
        # Rich would break both at the width of the columns, which may be few letters.
        title, caption, kept = self.title, self.caption, [column._cells for column in self.columns]
        self.title = self.caption = None
        for column, cells in zip(self.columns, kept):
            column._cells = [hung(cell) for cell in cells]
        try:
            if title:
                yield Text(_text(title), style="bold")
            yield from super().__rich_console__(console, options)
            if caption:
                yield Text(_text(caption), style="dim")
        finally:
            self.title, self.caption = title, caption
            for column, cells in zip(self.columns, kept):
                column._cells = cells

    def tab_separated(self) -> str:
        """Headings and rows with a tab between cells, each cell in one line, with control codes spelt out.

        No cell is a formula to a spreadsheet.
        """
        lines = [self._headings(), *([_plain(cell) for cell in row] for row in self._rows())]
        return "".join("\t".join(map(safe_cell, line)) + "\n" for line in lines)

    def _headings(self) -> list[str]:
        return [_plain(column.header) for column in self.columns]

    def _rows(self) -> list[tuple[RenderableType, ...]]:
        return list(zip(*(tuple(column.cells) for column in self.columns)))

    def _widths(self, most: int) -> list[int] | None:
        """The width of every column, or None where a word or a figure would have to be broken."""
        least, wanted = [], []
        for column in self.columns:
            cells = [_text(cell) for cell in column.cells] + ([_text(column.header)] if self.show_header else [])
            lines = [line for cell in cells for line in cell.splitlines()]
            longest = max((cell_len(line) for line in lines), default=1)
            word = max((cell_len(word) for line in lines for word in line.split()), default=1)
            few_lines = min(LONGEST_WANTED, -(-longest // TALLEST))
            widest = min(longest, column.max_width or longest)
            least.append(longest if column.no_wrap else min(longest, max(word, few_lines)))
            wanted.append(max(widest, least[-1]))
        room = most - sum(self._get_padding_width(index) for index in range(len(self.columns)))
        return _shared(room, least, wanted)

    def _lines(self) -> Iterator[RenderableType | Segment]:
        """Every row as a line and what belongs to it."""
        if self.title:
            yield Text(_text(self.title), style="bold")
        headings = self._headings()
        for row in self._rows():
            told = [(heading, cell) for heading, cell in zip(headings, row) if _text(cell) not in {"", NOTHING}]
            first = [cell for _, cell in list(zip(headings, row))[: self.lead] if _text(cell)]
            rest = [pair for pair in told if not any(pair[1] is cell for cell in first)]
            yield Text("  ").join(_styled(cell) for cell in first)
            if rest:
                named = (Text(f"{heading}: " if heading else "").append_text(_styled(cell)) for heading, cell in rest)
                yield Padding(hung(Text("; ").join(named)), (0, 0, 0, INDENT))
        if self.caption:
            yield Text(_text(self.caption), style="dim")


def hung(cell: RenderableType) -> RenderableType:
    """Text whose lines keep their indent where they are wrapped; anything else as it is."""
    plain = _text(cell) if isinstance(cell, str | Text) else ""
    if not any(line.startswith(" ") for line in plain.splitlines()):
        return cell
    lines = []
    for line in _styled(cell).split("\n"):
        indent = len(line.plain) - len(line.plain.lstrip(" "))
        lines.append(Padding(line[indent:], (0, 0, 0, indent)))
    return Group(*lines)


def _shared(room: int, least: Sequence[int], wanted: Sequence[int]) -> list[int] | None:
    """Each column as wide as it wants, or all wide ones cut to the same width; None where not even the least fits."""
    if sum(least) > room:
        return None
    level = max(wanted, default=0)
    while sum(min(want, max(low, level)) for low, want in zip(least, wanted)) > room:
        level -= 1
    return [min(want, max(low, level)) for low, want in zip(least, wanted)]


def _text(cell: RenderableType | None) -> str:
    return cell.plain if isinstance(cell, Text) else "" if cell is None else str(cell)


def _plain(cell: RenderableType) -> str:
    return spelt_out(" ".join(_text(cell).split()))


def _styled(cell: RenderableType) -> Text:
    return cell.copy() if isinstance(cell, Text) else Text(_text(cell))
