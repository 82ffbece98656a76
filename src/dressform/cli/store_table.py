"""What a store holds, for the terminal."""

from rich.console import Console

from dressform.jobs.store.listing import StoreList
from dressform.report.tables.whole_table import WholeTable

BYTES_PER_MB, BYTES_PER_KB = 1e6, 1e3
MINUTE = 60


def _size(size: int) -> str:
    return f"{size / BYTES_PER_MB:.1f} MB" if size >= BYTES_PER_MB else f"{size / BYTES_PER_KB:.0f} kB"


def print_store(found: StoreList, console: Console) -> None:
    """Print the size, then a row for each kind of work on each body."""
    console.print(f"{found.path}: {_size(found.size)}", style="bold")
    if not found.groups:
        console.print("nothing is kept")
        return
    table = WholeTable("Finished work", lead=2)
    for heading in ("work", "body", "garments", "entries", "outdated", "minutes of work", "first", "last"):
        table.add_column(heading)
    for one in found.groups:
        counts = (one.garments, one.entries, one.outdated)
        cells = (*map(str, counts), f"{one.seconds / MINUTE:.1f}", one.first[:10], one.last[:10])
        table.add_row(one.kind, one.body, *cells)
    console.print(table)
    if any(one.outdated for one in found.groups):
        console.print("outdated: found by another version of the program; dressform store prune --outdated frees it")


def entries_words(count: int) -> str:
    """`1 entry`, `2 entries`."""
    return f"{count} {'entry' if count == 1 else 'entries'}"
