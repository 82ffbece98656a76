"""A table as plain text."""

import io

from rich.console import Console
from rich.table import Table

WIDTH = 120
"""Characters."""


def table_text(table: Table, *, width: int = WIDTH) -> str:
    """The table without colours, no line longer than `width`."""
    stream = io.StringIO()
    Console(file=stream, width=width, color_system=None, highlight=False).print(table)
    return "\n".join(line.rstrip() for line in stream.getvalue().splitlines())
