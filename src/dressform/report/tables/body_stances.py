"""The stances of a body as tables: what they are, where they come from, which joints were recognised."""

from rich.console import Console

from dressform.body.body import Body
from dressform.body.stances.found import FoundStances
from dressform.body.stances.human import BY_PLACE, SIDES, HumanJoints
from dressform.report.tables.whole_table import WholeTable
from dressform.units import counted

MIDDLE = "middle"


def print_stances(body: Body, found: FoundStances, console: Console) -> None:
    """Print the stances, the joints that were recognised and every note."""
    source = f" from {found.source}" if found.source and found.stances else ""
    console.print(f"{body.name}: {counted(len(found.stances), 'stance')} beside the modelled pose{source}")
    for note in found.notes:
        console.print(f"note: {note}")
    if found.stances:
        console.print()
        console.print(stances_table(found))
    if found.joints is not None and found.joints.joints:
        console.print()
        console.print(joints_table(found.joints))


def stances_table(found: FoundStances) -> WholeTable:
    """One line for each stance."""
    table = WholeTable()
    table.add_column("stance", overflow="fold")
    table.add_column("from", overflow="fold")
    for one in found.stances:
        table.add_row(one.name, one.origin)
    return table


def joints_table(joints: HumanJoints) -> WholeTable:
    """Which joint is which part of the body, both sides in a line; what was told is marked."""
    table = WholeTable()
    for heading in ("part", MIDDLE, *SIDES):
        table.add_column(heading, overflow="fold")
    rows: dict[str, dict[str, str]] = {}
    for part, joint in joints.joints.items():
        side, _, own = part.partition("_")
        row, column = (own, side) if side in SIDES else (part, MIDDLE)
        told = "" if joints.how[part] == BY_PLACE else f" ({joints.how[part]})"
        rows.setdefault(row, {})[column] = f"{joints.skeleton.names[joint]}{told}"
    for part, columns in rows.items():
        table.add_row(part.replace("_", " "), *(columns.get(column, "") for column in (MIDDLE, *SIDES)))
    return table
