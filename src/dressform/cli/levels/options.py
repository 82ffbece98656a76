"""Options of fitting levels of detail."""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

LEVELS = "Levels of detail"
POP_MM = 5


@Parameter(name="*")
@dataclass(frozen=True)
class LevelOptions:
    """Whether the garments are levels of one, and on which levels of the body."""

    levels: Annotated[
        bool,
        Parameter(
            help="The garments are one garment's levels of detail, from fine to coarse, which are to move alike.",
            negative="",
            group=LEVELS,
        ),
    ] = False
    body_levels: Annotated[
        list[Path] | None,
        Parameter(
            help="Instead of --body, the body of each level, in their order; the last serves the levels that are left.",
            negative="",
            consume_multiple=True,
            group=LEVELS,
        ),
    ] = None
    pop: Annotated[
        float | None,
        Parameter(
            help="So much farther apart than as modelled may the outlines of two neighbouring levels be on any shape, "
            f"mm. [default: {POP_MM}]",
            group=LEVELS,
        ),
    ] = None

    @property
    def is_asked(self) -> bool:
        """Whether any of them was given."""
        return self.levels or self.body_levels is not None or self.pop is not None
