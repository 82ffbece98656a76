"""Tables of places: what is seen, why, and what to change. The command line prints them."""

from collections.abc import Sequence

from rich.text import Text

from dressform.causes.results import Explanation, SharedPlace
from dressform.faults.results import SEVERITIES
from dressform.faults.words import FAULT_WORDS, place_amount
from dressform.formats.results.check_report import GarmentReport
from dressform.report.tables.check import SEVERITY_STYLES, label_words, where
from dressform.report.tables.whole_table import WholeTable
from dressform.units import PERCENT

CLUSTERS_SHOWN = 6
SHARED_SHOWN = 5
NOTHING = 0.05  # a smaller share is none


def clusters_table(
    garment: GarmentReport, explained: Sequence[Explanation], morphs: Sequence[str], *, shown: int = CLUSTERS_SHOWN
) -> WholeTable:
    """One row per place, the most noticed first: what is seen, why, and what to change.

    Places that are at most slight and have no cause are only counted.
    """
    told = [one for one in explained if one.cause or one.cluster.worst.place.severity in SEVERITIES[2:]][:shown]
    table = lines_table(f"{garment.name} ({garment.method}): places by number, why, and what to change")
    for one in told:
        words = [
            Text.assemble(
                (one.cluster.worst.place.severity, SEVERITY_STYLES[one.cluster.worst.place.severity]),
                f" {seen_words(one, morphs)}",
            ),
            Text(cause_words(one)),
        ]
        if one.advice is not None:
            words.append(Text(one.advice.sentence))
            words += [Text(f"or {one.advice.repair}")] if one.advice.repair else []
        table.add_row(one.cluster.name, Text("\n").join(words))
    if len(explained) > len(told):
        table.add_row("", Text(f"and {places_words(len(explained) - len(told))} less noticed", style="dim"))
    return table


def shared_table(shared: Sequence[SharedPlace], *, shown: int = SHARED_SHOWN) -> WholeTable:
    """Places where several garments fail, one sentence each."""
    table = lines_table("Places where several garments fail")
    for number, one in enumerate(shared[:shown], start=1):
        table.add_row(str(number), f"{one.sentence}.")
    if len(shared) > shown:
        table.add_row("", Text(f"and {len(shared) - shown} more", style="dim"))
    return table


def seen_words(one: Explanation, morphs: Sequence[str]) -> str:
    """The fault, how much of it, where and on which shape."""
    worst = one.cluster.worst
    shape = label_words(worst.label, worst.weights, morphs)
    shape = shape if worst.stance is None else f"{shape}, {worst.stance.name}"
    spot, amount = where(worst.place), place_amount(worst.place)
    return f"{FAULT_WORDS[one.cluster.fault]}, {amount}, at {shape}" + (f": {spot}" if spot else "")


def cause_words(one: Explanation) -> str:
    """The cause, its share and its owner; if there is none, the share of the best counterfactual."""
    best = one.shares[0] if one.shares else None
    if one.cause and best is not None:
        return f"cause: {one.cause}, {best.share * PERCENT:.0f} % of it; it lies with {one.owner}"
    if best is None:
        return "cause: none found, since no counterfactual applies here"
    if best.share < NOTHING:
        return "cause: none found; nothing that was swapped takes any of it away"
    return f"cause: none found; at most {best.share * PERCENT:.0f} % of it goes, {best.counterfactual}"


def places_words(count: int) -> str:
    """`one place`, counted."""
    return f"{count} place{'' if count == 1 else 's'}"


def lines_table(title: str) -> WholeTable:
    """A table with a number and a block of words to each row."""
    table = WholeTable(title, show_header=False, padding=(0, 2, 0, 0))
    table.add_column(justify="right", no_wrap=True)
    table.add_column(overflow="fold")
    return table
