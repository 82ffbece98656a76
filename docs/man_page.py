"""The manual page, `docs/dressform.1`, made of the same words as the help."""

from collections.abc import Callable, Mapping

from dressform.version import __version__

ESCAPES = (("\\", "\\e"), ("-", "\\-"), ("'", "\\(aq"))


def man_page(summary: str, commands: Mapping[str, str], help_of: Callable[[str], str]) -> str:
    """The page in the macros of `man`.

    Args:
        summary: What the program does.
        commands: Every command and what it does, in the order of the help.
        help_of: The help of a command; of the program itself where the name is empty.
    """
    lines = [
        f'.TH DRESSFORM 1 "" "dressform {__version__}" "User commands"',
        ".SH NAME",
        _escaped("dressform - make mesh clothing follow bodies that their wearers reshape"),
        ".SH SYNOPSIS",
        ".B dressform",
        r"\fICOMMAND\fR [\fIARGUMENT\fR...]",
        ".SH DESCRIPTION",
        _escaped(summary),
        ".SH COMMANDS",
        "Each is told in a section of its own below.",
        *(line for name, words in commands.items() for line in (".TP", f".B {_escaped(name)}", _escaped(words))),
        ".SH DRESSFORM",
        *_literal(help_of("")),
    ]
    for name in commands:
        lines += [f'.SH "{_escaped(name.upper())}"', *_literal(help_of(name))]
    return "\n".join(lines) + "\n"


def _literal(text: str) -> list[str]:
    """Text that keeps its line breaks."""
    return [".nf", *(_escaped(line) for line in text.splitlines()), ".fi"]


def _escaped(text: str) -> str:
    """Text in which nothing is taken for a macro."""
    for plain, written in ESCAPES:
        text = text.replace(plain, written)
    return f"\\&{text}" if text.startswith((".", "\\(aq")) else text
