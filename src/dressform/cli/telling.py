"""How much a command says: options that stand with every command."""

from dataclasses import dataclass
from typing import Annotated

from cyclopts import Parameter

EVERY = "With every command"
"""Under which heading of the help these options stand."""


@Parameter(name="*")
@dataclass(frozen=True)
class Telling:
    """How much is printed, and in which form."""

    quiet: Annotated[
        bool,
        Parameter(name=["--quiet", "-q"], help="Print the first line alone: the verdict.", negative="", group=EVERY),
    ] = False
    verbose: Annotated[
        bool,
        Parameter(
            name=["--verbose", "-v"],
            help="Print every shape, place and action, not only the first few; and the traceback of a fault of the "
            "program.",
            negative="",
            group=EVERY,
        ),
    ] = False
    tsv: Annotated[
        bool,
        Parameter(help="Print the first table alone, with every figure, tab-separated.", negative="", group=EVERY),
    ] = False
    progress: Annotated[
        bool,
        Parameter(
            name="--progress",
            help="Show bars on a terminal while work goes on.",
            negative="--no-progress",
            group=EVERY,
        ),
    ] = True


_told = Telling()


def telling() -> Telling:
    """What the command line asked for."""
    return _told


def set_telling(asked: Telling | None) -> None:
    """Keep what the command line asked for, until the next command."""
    global _told
    _told = asked or Telling()
