"""Compares the faults built into the demo with what the check found."""

from collections.abc import Mapping

from dressform.body.body import Body
from dressform.causes.results import Cluster, Explanation
from dressform.demo.wardrobe_truth import FaultyGarment
from dressform.faults.results import SEVERITIES
from dressform.faults.words import FAULT_WORDS
from dressform.formats.results.check_report import CheckReport, GarmentReport, ShapeRow
from dressform.report.tables.check import where
from dressform.report.tables.whole_table import WholeTable
from dressform.units import CM_PER_M

MISSED = "missed"


def seeded_truth_table(truth: tuple[FaultyGarment, ...], checked: Mapping[str, tuple[Body, CheckReport]]) -> WholeTable:
    """One line per seeded fault: why it is there, at which shape it must show, what was found there and why."""
    table = WholeTable("Sewn in on purpose")
    for heading in ("garment", "body", "why", "method", "at shape", "found", "cause found"):
        table.add_column(heading, overflow="fold")
    for wrong in truth:
        body, report = checked[wrong.body]
        named = (one for one in report.garments if (one.name, one.method) == (wrong.name, wrong.method))
        garment = next(named, None)
        shape = " ".join(f"{name}={weight:g}" for name, weight in wrong.shape.items())
        table.add_row(
            wrong.name,
            wrong.body,
            wrong.cause,
            wrong.method,
            shape,
            MISSED if garment is None else _found(wrong, garment, body),
            MISSED if garment is None else _cause(wrong, report.explained(garment)),
        )
    return table


def _found(wrong: FaultyGarment, garment: GarmentReport, body: Body) -> str:
    """How each fault shows that must, over the whole cloth or at a place; and what is wrong at the base."""
    row = _row_at(garment, body, wrong.shape)
    words = []
    for fault in wrong.wrong:
        words.append(f"{FAULT_WORDS[fault]}: {MISSED if row is None else _seen(row, fault)}")
    if "ease" in wrong.wrong_at_base:
        ease = ", ".join(
            f"{level} {base * CM_PER_M:.0f} cm" for level, (base, _) in garment.rows[0].faults.girth_ease.items()
        )
        words.append(f"ease at the base: {ease}")
    if "own_inside" in wrong.wrong_at_base:
        words.append(f"inside at the base: {garment.rows[0].faults.show_through.own_inside_share:.1%}")
    return "; ".join(words)


def _cause(wrong: FaultyGarment, explained: tuple[Explanation, ...]) -> str:
    """The cause of the most noticed place among those where the seeded fault must show, with its share."""
    named = [one for one in explained if one.cause and _belongs(wrong, one.cluster)]
    if not named:
        return MISSED
    first = named[0]
    return f"{first.cause}, {first.shares[0].share:.0%} (place {first.cluster.name})"


def _belongs(wrong: FaultyGarment, cluster: Cluster) -> bool:
    """Whether a place is one where the seeded fault must show; at the base any fault is."""
    return cluster.worst.place.region in wrong.regions and (not wrong.wrong or cluster.fault in wrong.wrong)


def _seen(row: ShapeRow, fault: str) -> str:
    """Severity over the whole cloth, else that of the worst place, and where that is."""
    overall = row.faults.severities[fault]
    if overall != SEVERITIES[0]:
        return overall
    places = [place for place in row.faults.places if place.fault == fault and place.severity != SEVERITIES[0]]
    if not places:
        return MISSED
    worst = max(places, key=lambda place: SEVERITIES.index(place.severity))
    return f"{worst.severity} at {where(worst)}"


def _row_at(garment: GarmentReport, body: Body, named: Mapping[str, float]) -> ShapeRow | None:
    """The row whose weights are these, or None."""
    wanted = tuple(body.weights(named))
    return next((row for row in garment.rows if tuple(row.faults.weights) == wanted), None)
