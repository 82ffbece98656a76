"""`dressform explain`: the whole reasoning about one cluster of a check's results."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from rich.console import Console

from dressform.cli.console import out, waiting
from dressform.cli.explain_picture import explained_picture
from dressform.cli.outputs import PNG, WritingOptions, check_outputs
from dressform.formats.guards.limits import read_bytes
from dressform.formats.results.check_read import read_results
from dressform.formats.results.check_schema import StoredCluster, StoredGarment, StoredResults
from dressform.report.pictures.picture import save_png
from dressform.report.tables.explained import (
    cause_sentence,
    evidence_table,
    explained_title,
    seen_table,
    spot_words,
    tried_table,
)


def explain(
    results: Annotated[Path, Parameter(name="RESULTS", help="JSON that dressform check wrote.")],
    cluster: Annotated[
        str,
        Parameter(name="CLUSTER", help="Which cluster: GARMENT/1, or GARMENT METHOD/1 where methods were compared."),
    ],
    /,
    *,
    picture: Annotated[
        Path | None, Parameter(help="Draw the place as it is and with the cause swapped, into this .png.")
    ] = None,
    writing: WritingOptions | None = None,
) -> int:
    """Print what was seen at a cluster, what was tried, what the cause is and what to change."""
    check_outputs([results], [(picture, PNG)], writing=writing)
    told = read_results(read_bytes(results), path=str(results))
    garment, found = told.find(cluster)
    if picture is not None:
        with waiting("Making the swap again"):
            save_png(explained_picture(told, garment, found), picture)
    console = out()
    print_explained(told, garment, found, console)
    if picture is not None:
        console.print(f"wrote {picture}")
    return 0


def print_explained(told: StoredResults, garment: StoredGarment, cluster: StoredCluster, console: Console) -> None:
    """Everything that the results say about one cluster."""
    console.print(explained_title(garment, cluster), style="bold")
    console.print(f"{spot_words(cluster)}; on {told.body.name}, ease policy {garment.ease}", soft_wrap=True)
    for table in (seen_table(cluster), tried_table(cluster)):
        console.print()
        console.print(table)
    console.print()
    _print_section(console, "Cause", cause_sentence(cluster))
    if cluster.evidence:
        console.print(evidence_table(cluster))
        console.print()
    if cluster.advice is not None:
        advice = cluster.advice
        words = [f"{advice.where}: {advice.what}", *([f"or {advice.repair}"] if advice.repair else [])]
        _print_section(console, "What to change", *words)
    shared = told.shared_with(garment, cluster)
    if shared:
        _print_section(console, "Others fail here too", *(f"{one.sentence}." for one in shared))


def _print_section(console: Console, title: str, *lines: str) -> None:
    console.print(title, style="bold")
    for line in lines:
        console.print(line, soft_wrap=not console.is_terminal)
    console.print()
