"""A triage in the terminal: the matters, then how many complaints of each outcome."""

from rich.console import Console
from rich.text import Text

from dressform.faults.words import FAULT_WORDS, place_amount
from dressform.formats.results.triage_schema import StoredTriage
from dressform.report.tables.check import SEVERITY_STYLES, where
from dressform.report.tables.whole_table import WholeTable
from dressform.report.triage.answers import plain_words
from dressform.report.triage.markdown import OUTCOMES, headline
from dressform.units import counted

FIGURES = "Figures are those at the complaints' own shapes; a check looks at others, and may find the same place worse."


def triage_table(told: StoredTriage) -> WholeTable:
    """The matters, the first to see to first."""
    table = WholeTable("What is complained about")
    table.add_column("", justify="right")
    for heading in ("garment", "verdict", "fault and place"):
        table.add_column(heading, overflow="fold")
    for heading in ("people", "complaints"):
        table.add_column(heading, justify="right")
    table.add_column("why", overflow="fold")
    table.add_column("whose it is", overflow="fold")
    for one in told.matters:
        owner = one.owner or "not known"
        table.add_row(
            one.name,
            ", ".join(one.garments),
            Text(one.severity, style=SEVERITY_STYLES.get(one.severity, "")),
            f"{FAULT_WORDS[one.fault]}, {place_amount(one.place)}; {where(one.place)}",
            str(one.people),
            str(one.complaints),
            plain_words()["cause"].get(one.cause, one.cause) or "not known",
            owner if one.sure or not one.owner else f"probably {owner}",
        )
    table.caption = FIGURES
    return table


def print_triage(told: StoredTriage, console: Console, *, resumed: int = 0) -> None:
    """Everything that a person reads first."""
    console.print(f"{headline(told)}.", style="bold")
    if resumed:
        console.print(f"note: {counted(resumed, 'complaint')} had been finished before and were taken up.")
    if told.matters:
        console.print(triage_table(told))
    for outcome, heading in OUTCOMES.items():
        cases = told.of(outcome)
        if cases:
            console.print(f"{heading}: {counted(len(cases), 'complaint')}")
    for change in told.changes:
        console.print(f"{change.kind}: {change.words}", soft_wrap=not console.is_terminal)
    for words in (*told.unread, *told.notes):
        console.print(f"note: {words}", soft_wrap=not console.is_terminal)
