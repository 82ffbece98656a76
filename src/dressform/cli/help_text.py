"""How help is laid out: each name on its own line, what it does below it, no frames and no colours."""

import textwrap
from typing import Any

from cyclopts.help.formatters import PlainFormatter

NAME_INDENT = "  "
TEXT_INDENT = "      "
WIDEST = 100


class HelpLayout(PlainFormatter):
    """Plain text that wraps cleanly at the width of the terminal."""

    def __call__(self, console: Any, options: Any, panel: Any) -> None:
        """Print one group of commands, arguments or options."""
        if not panel.entries:
            return
        lines = [f"{panel.title}:"] if panel.title else []
        for entry in panel.entries:
            is_option = panel.format == "parameter"
            labels = entry.display_labels_with_metavar if is_option else entry.display_labels
            lines.append(NAME_INDENT + ", ".join(labels))
            words = _words(entry, console)
            width = min(console.width, WIDEST)
            lines += textwrap.wrap(words, width, initial_indent=TEXT_INDENT, subsequent_indent=TEXT_INDENT)
        self._print_plain(console, "\n".join(lines))
        console.print()


def _words(entry: Any, console: Any) -> str:
    """What an entry does, whether it must be given, and its default."""
    with console.capture() as captured:
        console.print(entry.description or "", end="", soft_wrap=True)
    words = [" ".join(captured.get().split())]
    if entry.default is not None:
        words.append(f"[default: {entry.default}]")
    if entry.required:
        words.append("[required]")
    return " ".join(words)
