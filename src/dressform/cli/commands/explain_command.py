"""`dressform explain`: the whole reasoning about one place of a check's results."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import StancesOption, stances_file
from dressform.cli.exits import EXIT_CLEAN
from dressform.cli.outputs import PNG, WritingOptions, check_outputs


def explain(
    results: Annotated[Path, Parameter(name="RESULTS", help="JSON that dressform check wrote.")],
    place: Annotated[
        str,
        Parameter(
            name="PLACE",
            help=(
                "Which place: GARMENT/1 by its number, GARMENT/A for the first place of an action, or GARMENT METHOD/1 "
                "where methods were compared."
            ),
        ),
    ],
    /,
    *,
    picture: Annotated[
        Path | None, Parameter(help="Draw the place as it is and with the cause swapped, into this .png.")
    ] = None,
    stances: StancesOption = None,
    method: Annotated[
        str | None,
        Parameter(help="The code that these results name as the method, said again so that --picture may run it."),
    ] = None,
    writing: WritingOptions | None = None,
) -> int:
    """Print what was seen at a place, what was tried, what the cause is and what to change."""
    from dressform.cli.console import out, waiting
    from dressform.cli.standard_input import given
    from dressform.formats.guards.limits import read_bytes
    from dressform.formats.results.check_read import read_results
    from dressform.jobs.explain.picture import explained_picture
    from dressform.report.pictures.picture import save_png
    from dressform.report.tables.explained import print_explained

    check_outputs([results, stances_file(stances)], [(picture, PNG)], writing=writing)
    told = read_results(read_bytes(given(results)), path=str(results))
    garment, found = told.find(place)
    if picture is not None:
        with waiting("Making the swap again"):
            save_png(explained_picture(told, garment, found, stances=stances, code=method), picture)
    console = out()
    print_explained(told, garment, found, console)
    if picture is not None:
        console.print(f"wrote {picture}")
    return EXIT_CLEAN
