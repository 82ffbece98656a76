"""Options of commands that work through wardrobes: where it is done, and where finished work is kept."""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

WARDROBES = "Wardrobes"


@Parameter(name="*")
@dataclass(frozen=True)
class WardrobeOptions:
    """Where the work is done, and where it is kept."""

    engine: Annotated[
        str | None,
        Parameter(
            help="Where a wardrobe is worked through: processes, dask (a cluster started on this machine), or "
            "tcp://HOST:PORT (the scheduler of one that runs). [default: processes]",
            group=WARDROBES,
        ),
    ] = None
    store: Annotated[
        Path | None,
        Parameter(
            help="File that keeps what is finished, so that a second run does only what changed and an interrupted one "
            "goes on. [default: of wardrobes the user's own, see dressform store]",
            group=WARDROBES,
        ),
    ] = None
    no_store: Annotated[
        bool, Parameter(name="--no-store", help="Keep nothing, and do everything.", negative="", group=WARDROBES)
    ] = False

    @property
    def is_asked(self) -> bool:
        """Whether an engine was named."""
        return self.engine is not None
