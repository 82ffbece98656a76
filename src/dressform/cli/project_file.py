"""`dressform.toml` in the folder that the program is run in: options that are always the same there."""

from collections.abc import Collection
from dataclasses import fields
from pathlib import Path

from dressform.cli.telling import Telling
from dressform.errors import FileError

PROJECT_FILE = "dressform.toml"


def refuse_odd_project(commands: Collection[str]) -> None:
    """Refuse a project file that cannot be read, or that names what is no command: its options would do nothing.

    The options of each command are refused where they are read, by the command that has them.

    Args:
        commands: Names of the commands.

    Raises:
        FileError: it is no TOML, or a name in it is neither a command nor an option of all commands.
    """
    path = Path(PROJECT_FILE)
    if not path.is_file():
        return
    from dressform.formats.guards.toml import read_toml  # noqa: PLC0415  # most folders have no such file

    known = {*commands, *(one.name for one in fields(Telling))}
    for name in read_toml(path):
        if name not in known:
            from dressform.calls import likely  # noqa: PLC0415  # a run without a mistake needs no numerics

            advice = likely(name, known, f"Name one of {', '.join(sorted(known))}")
            raise FileError.of(path, name, "is no command, and no option of all commands", advice)
