"""`dressform show`: a local page on which sliders are turned and clothes follow."""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.body.shape_settings import PAGE_SOBOL
from dressform.cli.arguments import BodyOption, FollowingOptions, MethodsOption, ReadingOptions, StancesOption
from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN
from dressform.cli.outputs import TOML, WritingOptions, check_outputs

ANY_PORT = 0


@Parameter(name="*")
@dataclass(frozen=True)
class Keeping:
    """Where the page may write."""

    settings: Annotated[
        Path | None, Parameter(help="TOML with how garments follow: read where it exists, written when the page saves.")
    ] = None
    out: Annotated[Path | None, Parameter(help="Folder for what the page exports.")] = None
    cases: Annotated[Path | None, Parameter(help="Folder for the cases that the page saves.")] = None


def show(
    garments: Annotated[list[Path], Parameter(help="Garment files: .glb, .gltf, .obj, .ply, .dae or USD.")],
    /,
    *,
    body: BodyOption,
    method: MethodsOption = None,
    repaired: Annotated[bool, Parameter(help="Show every garment repaired over the whole range, too.")] = False,
    bands: Annotated[
        Path | None, Parameter(help="TOML with the values from which a fault is slight, moderate, grave.")
    ] = None,
    shapes: Annotated[int, Parameter(help="Evenly spread shapes that the check in the background adds.")] = PAGE_SOBOL,
    stances: StancesOption = None,
    check: Annotated[bool, Parameter(help="Check every garment over the range in the background.")] = True,
    port: Annotated[int, Parameter(help="Port to listen on; any free one if omitted.")] = ANY_PORT,
    browser: Annotated[bool, Parameter(help="Open the page in the browser.")] = True,
    keeping: Keeping | None = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Open a local page on which a person turns any slider and watches the clothes follow."""
    from dressform.cli.show_run import run_show

    keep = keeping or Keeping()
    written, folders = [(keep.settings, TOML)], [keep.out, keep.cases]
    told = Path(stances) if stances is not None and stances.endswith(".toml") else None
    check_outputs([body, *garments, bands, told], written, folders, reading=reading, writing=writing)
    is_whole = run_show(
        garments, body, method, stances=stances, repaired=repaired, bands=bands, shapes=shapes, check=check, port=port,
        browser=browser, keeping=keep, following=following, reading=reading,
    )  # fmt: skip
    return EXIT_CLEAN if is_whole else EXIT_BAD_INPUT
