"""What was found in a wardrobe, for the terminal: a verdict, then the worst garments with what to do."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import Console

from dressform.faults.results import SEVERITIES
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.garment_line import GarmentLine
from dressform.report.tables.check import NOTHING, verdict
from dressform.report.tables.whole_table import WholeTable
from dressform.units import counted

LINES_SHOWN = 20
"""So many garments are listed, the worst; the rest is counted."""
FAILED_SHOWN = 20
EVERY = 10**9
UNTRIED = f"do first {NOTHING}: nothing that was tried helps; with --no-causes nothing is tried"


@dataclass(frozen=True)
class WardrobeSummary:
    """A wardrobe in short.

    Attributes:
        body: Name of the body.
        lines: Its garments, the worst first.
        failed: Those of which nothing is known.
        kept: How many were taken from the store.
        seconds: What the run took.
        peak_mb: Most memory of any process, MB; 0 where that is not known, or nothing was done.
        notes: What must be known of the body.
    """

    body: str
    lines: Sequence[GarmentLine]
    failed: Sequence[FailedGarment]
    kept: int
    seconds: float
    peak_mb: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def verdict(self) -> str:
        """The outcome in one sentence."""
        worst: dict[str, str] = {}
        for line in self.lines:
            worst[line.name] = max(worst.get(line.name, SEVERITIES[0]), line.severity, key=SEVERITIES.index)
        count = Counter(worst.values())
        failing = count["moderate"] + count["grave"]
        told = ", ".join(f"{count[severity]} {severity}" for severity in reversed(SEVERITIES) if count[severity])
        verb = "fails" if failing == 1 else "fail"
        words = f"{failing or 'none'} of {counted(len(worst), 'garment')} {verb if failing else 'fails'}"
        broken = len({one.name for one in self.failed} - set(worst))
        rest = f"; {broken} could not be checked" if broken else ""
        return f"{words}{f' ({told})' if told else ''}{rest}"


def print_wardrobe(found: WardrobeSummary, console: Console, *, whole: bool = False) -> None:
    """Print the verdict, what was taken from the store, the worst garments, and those that could not be checked.

    Args:
        found: What was found.
        console: Where to.
        whole: Print every garment, not the worst alone.
    """
    console.print(f"{found.verdict}.", style="bold")
    memory = f"; at most {found.peak_mb:.0f} MB in a process" if found.peak_mb else ""
    kept = f", {found.kept} of them from the store" if found.kept else ""
    names = {line.name for line in found.lines} | {one.name for one in found.failed}
    console.print(f"{found.body}: {counted(len(names), 'garment')}{kept}, in {found.seconds:.0f} s{memory}")
    for note in found.notes:
        console.print(f"note: {found.body}: {note}")
    if found.lines:
        console.print()
        console.print(wardrobe_table(found.lines, shown=EVERY if whole else LINES_SHOWN))
    shown = found.failed if whole else found.failed[:FAILED_SHOWN]
    for one in shown:
        console.print(one.sentence)
    if len(found.failed) > len(shown):
        console.print(f"and {len(found.failed) - len(shown)} more could not be checked: --verbose lists all")


def wardrobe_table(lines: Sequence[GarmentLine], *, shown: int = LINES_SHOWN) -> WholeTable:
    """One line per garment and method, the worst first: its gravest fault and what to do."""
    several = len({line.method for line in lines}) > 1
    table = WholeTable("Garments, the worst first", lead=3 if several else 2)
    for heading in ("garment", *(["method"] if several else []), "verdict", "gravest fault", "do first"):
        table.add_column(heading, overflow="fold")
    for line in lines[:shown]:
        names = [line.name, line.method] if several else [line.name]
        worst = next(iter(line.faults), None)
        do = line.actions[0] if line.actions else NOTHING
        table.add_row(*names, verdict(line.severity), NOTHING if worst is None else worst.words, do)
    rest = Counter(line.severity for line in lines[shown:])
    captions = [UNTRIED] if any(line.faults and not line.actions for line in lines[:shown]) else []
    if rest:
        told = ", ".join(f"{rest[severity]} {severity}" for severity in reversed(SEVERITIES) if rest[severity])
        captions.append(f"and {len(lines) - shown} more ({told}): --verbose, --json and the store have them")
    table.caption = "\n".join(captions) or None
    return table
