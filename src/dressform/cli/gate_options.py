"""Options of the gate: what is accepted, and the forms in which CI systems are told."""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

GATE = "Gate"


@Parameter(name="*")
@dataclass(frozen=True)
class GateOptions:
    """What a shop accepts, and whom to tell."""

    fail_on: Annotated[
        str | None,
        Parameter(
            help="From which severity on a garment is not accepted, and the exit code is 1: slight, moderate or grave. "
            "[default: what the rules say, else moderate]",
            group=GATE,
        ),
    ] = None
    rules: Annotated[
        Path | None,
        Parameter(help="TOML of what is accepted: bands, tucks, garments excused until a day.", group=GATE),
    ] = None
    junit: Annotated[Path | None, Parameter(help="Write the verdict as JUnit XML to this file.", group=GATE)] = None
    sarif: Annotated[Path | None, Parameter(help="Write the verdict as SARIF 2.1.0 to this file.", group=GATE)] = None
    summary: Annotated[Path | None, Parameter(help="Write the verdict in Markdown to this file.", group=GATE)] = None

    @property
    def is_asked(self) -> bool:
        """Whether anything is to be judged."""
        return any(one is not None for one in (self.fail_on, self.rules, self.junit, self.sarif, self.summary))
