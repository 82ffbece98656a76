"""`dressform store`: what is kept of finished work, listed, pruned and exported."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.console import out
from dressform.cli.exits import EXIT_CLEAN
from dressform.cli.outputs import wrote

StoreOption = Annotated[
    Path | None,
    Parameter(name="--store", help="The store. [default: the user's own, or the file that DRESSFORM_STORE names]"),
]


def store_list(*, store: StoreOption = None) -> int:
    """Say what the store holds: how much, of which bodies, how old, and what is of no use any more."""
    from dressform.cli.store_table import print_store
    from dressform.jobs.store.finished import FinishedStore
    from dressform.jobs.store.listing import listed
    from dressform.jobs.store.place import default_store

    path = store or default_store()
    with FinishedStore(path, create=False) as opened:
        print_store(listed(opened), out())
    return EXIT_CLEAN


def store_prune(
    *,
    store: StoreOption = None,
    older_than: Annotated[
        float | None, Parameter(help="Take out what was put there more than so many days ago.")
    ] = None,
    outdated: Annotated[
        bool, Parameter(help="Take out what another version of the program has found.", negative="")
    ] = False,
    body: Annotated[str | None, Parameter(help="Take out what is about bodies of this name; a pattern.")] = None,
    garment: Annotated[str | None, Parameter(help="Take out what is about garments of this name; a pattern.")] = None,
    dry_run: Annotated[bool, Parameter(help="Say what would be taken out, and leave it.", negative="")] = False,
) -> int:
    """Take out what meets every option given, and give its room back. It is found anew where it is asked for again."""
    from dressform.cli.store_table import entries_words
    from dressform.errors import ArgumentError
    from dressform.jobs.store.finished import FinishedStore
    from dressform.jobs.store.listing import Pruning, prune
    from dressform.jobs.store.place import default_store

    asked = Pruning(older_than, outdated, body, garment)
    if not asked.is_any:
        options, advice = "--outdated, --older-than, --body or --garment", "Say what to take out; '*' meets every name"
        raise ArgumentError.of("store prune", options, "given, one or several", "none", advice)
    with FinishedStore(store or default_store(), create=False) as opened:
        before = opened.size
        gone = prune(opened, asked, dry=dry_run)
        freed = (before - opened.size) / 1e6
    words = "would be taken out" if dry_run else f"taken out, {freed:.1f} MB freed"
    out().print(f"{entries_words(gone)} {words}")
    return EXIT_CLEAN


def store_export(
    output: Annotated[Path, Parameter(help="The .csv or .parquet to write.")],
    /,
    *,
    store: StoreOption = None,
) -> int:
    """Write a row for each fault of each garment that was checked, for a spreadsheet or a data frame."""
    from dressform.cli.outputs import ANY_CSV, PARQUET, check_outputs
    from dressform.jobs.store.export import export_store
    from dressform.jobs.store.finished import FinishedStore
    from dressform.jobs.store.place import default_store
    from dressform.units import counted

    path = store or default_store()
    kind = PARQUET if output.suffix.lower() == ".parquet" else ANY_CSV
    check_outputs([path], [(output, kind)])
    with FinishedStore(path, create=False) as opened:
        count = export_store(opened, output)
    console = out()
    console.print(counted(count, "row"))
    for line in wrote(output):
        console.print(line)
    return EXIT_CLEAN
