"""Options of fitting: what is repaired before a file is written."""

from dataclasses import dataclass
from typing import Annotated

from cyclopts import Parameter

from dressform.garment.choices import DEFAULT_MARGIN_MM
from dressform.repair.names import REPAIRS


@Parameter(name="*")
@dataclass(frozen=True)
class Repairing:
    """What is repaired before the file is written."""

    repair: Annotated[bool, Parameter(help="Repair the fit, prove it and write a receipt beside it.")] = True
    repairs: Annotated[str, Parameter(help="Which repairs, separated by commas.")] = ",".join(REPAIRS)
    stances: Annotated[
        str | None,
        Parameter(
            help="Stances to repair and prove beside the modelled pose, which takes minutes: a stances TOML; or "
            "motion, everyday, strong, animations, sliders, several separated by commas. [default: none]"
        ),
    ] = None
    as_targets: Annotated[
        bool,
        Parameter(help="Where the method is no linear function of the weights, go on with its best targets."),
    ] = False
    correctives: Annotated[
        bool,
        Parameter(
            help="Give strong bends among the stances targets that joints drive; else targets at rest serve them."
        ),
    ] = True
    clips: Annotated[
        str,
        Parameter(
            help="Animations of the body's file to prove at every instant, which takes minutes: names separated by "
            "commas, all, or none."
        ),
    ] = "none"
    keep_base: Annotated[bool, Parameter(help="Keep every vertex of the base where it is, in the skin too.")] = False
    margin: Annotated[
        float | None,
        Parameter(help=f"Clearance to keep over the whole range, mm. [default: {DEFAULT_MARGIN_MM:g}]"),
    ] = None
