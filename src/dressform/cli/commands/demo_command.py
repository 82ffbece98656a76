"""`dressform demo`: the village of Saltmarsh made, checked and fitted."""

import os
import time
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN
from dressform.cli.outputs import WritingOptions, check_outputs

DEFAULT_FOLDER = Path("saltmarsh")
DEFAULT_DEMO_SHAPES = 16


def demo(
    folder: Annotated[Path, Parameter(name="OUT", help="Folder to fill.")] = DEFAULT_FOLDER,
    /,
    *,
    everything: Annotated[
        bool,
        Parameter(name="--all", negative="", help="Do it with every garment, not with four."),
    ] = False,
    shapes: Annotated[int, Parameter(help="Further evenly spread shapes to check.")] = (DEFAULT_DEMO_SHAPES),
    workers: Annotated[
        int | None, Parameter(help="Processes that measure at the same time. [default: one per processor]")
    ] = None,
    writing: WritingOptions | None = None,
) -> int:
    """Make the bodies and the wardrobe of Saltmarsh; check, explain, repair and prove four of its garments."""
    start = time.perf_counter()
    from dressform.cli.demo_run import Clock, run_demo

    check_outputs([], [], [folder], writing=writing)
    many = workers if workers is not None else os.cpu_count() or 1
    is_whole = run_demo(folder, shapes, many, Clock(start), everything=everything)
    return EXIT_CLEAN if is_whole else EXIT_BAD_INPUT
