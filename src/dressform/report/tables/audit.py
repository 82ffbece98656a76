"""Tables of an audit for the terminal, the worst morph first."""

from rich.console import Console
from rich.text import Text

from dressform.audit.results import BodyAudit, MorphAudit, PairAudit
from dressform.audit.words import (
    BODY_FAULT_WORDS,
    SIDE_WORDS,
    body_reading,
    body_sentences,
    morph_sentences,
    sentence,
)
from dressform.faults.results import SEVERITIES
from dressform.formats.results.audit_report import AuditReport, name_of, weights_of
from dressform.report.tables.check import SEVERITY_STYLES
from dressform.report.tables.whole_table import WholeTable
from dressform.units import CM2_PER_M2, CM_PER_M, MM_PER_M, counted

SPOTS_SHOWN = 3
TIMES_TEN_THOUSAND = 1e4


def print_audit(report: AuditReport, console: Console) -> None:
    """What a person reads: one line per morph, then each finding with what to do about it."""
    body, found = report.body, report.audit
    console.print(f"{audit_line(found)}.", style="bold")
    console.print(
        f"{body.name}: {body.vertices} vertices, {body.stature:.2f} m tall, {counted(len(body.intervals), 'morph')}; "
        f"audited in {report.seconds:.1f} s"
    )
    for note in (*body.notes, *body_sentences(found)):
        console.print(f"note: {note}")
    if found.morphs:
        console.print()
        console.print(morphs_table(found))
    shown: list[MorphAudit | PairAudit] = [*found.morphs, *found.pairs]
    for one in shown:
        if one.severity != SEVERITIES[0]:
            console.print()
            console.print(findings_table(one))
            for line in map(sentence, one.findings):
                console.print(f"  {line}")
    for still in (one for one in found.morphs if not one.findings):
        for line in morph_sentences(still):
            console.print(f"{still.name}: {line}")


def audit_line(audit: BodyAudit) -> str:
    """The outcome in one sentence: which morphs and pairs are faulty, or that none is."""
    judged: list[MorphAudit | PairAudit] = [*audit.morphs, *audit.pairs]
    faulty = [name_of(one) for one in judged if one.severity in SEVERITIES[2:]]
    if faulty:
        return f"{len(faulty)} of {counted(len(audit.morphs), 'morph')} and their pairs faulty: {', '.join(faulty)}"
    slight = [name_of(one) for one in judged if one.severity == SEVERITIES[1]]
    found = f"slight findings in {', '.join(slight)}" if slight else "clean"
    return f"{counted(len(audit.morphs), 'morph')}: {found}"


def morphs_table(audit: BodyAudit) -> WholeTable:
    """One line per morph: what it moves, how far, how smoothly, and what is wrong with it."""
    table = WholeTable("Morphs, the worst first: figures at the farther end of each interval")
    table.add_column("morph", overflow="fold")
    table.add_column("verdict")
    for heading in (
        "interval",
        "moved\ncm²",
        "farthest\nmm",
        "p95\nmm",
        "rough\np99 ‱",
        "turned\nover",
        "crossing\npairs",
    ):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("left and\nright")
    table.add_column("findings", overflow="fold")
    for one in audit.morphs:
        table.add_row(
            one.name,
            _verdict(one.severity),
            f"{one.low:g} … {one.high:g}",
            f"{one.moved_area * CM2_PER_M2:.0f}",
            f"{one.move_max * MM_PER_M:.1f}",
            f"{one.move_p95 * MM_PER_M:.1f}",
            f"{one.roughness * TIMES_TEN_THOUSAND:.0f}",
            str(one.folded),
            str(one.crossing),
            _sides(one),
            ", ".join(BODY_FAULT_WORDS[found.fault] for found in one.findings) or "–",
        )
    return table


def findings_table(one: MorphAudit | PairAudit) -> WholeTable:
    """Every finding of a morph or of a pair with its figure and its first places."""
    weights = " ".join(f"{name}={weight:g}" for name, weight in weights_of(one).items())
    table = WholeTable(f"{name_of(one)} ({one.severity}; {weights})")
    for heading in ("verdict", "finding"):
        table.add_column(heading, no_wrap=True)
    table.add_column("how much", justify="right", no_wrap=True)
    table.add_column("where", overflow="fold")
    for heading in ("cm above\nground", "cm²", "vertices", "of them"):
        table.add_column(heading, justify="right")
    for found in one.findings:
        value, unit = body_reading(found.fault, found.value)
        first: list[str | Text] = [
            _verdict(found.severity),
            BODY_FAULT_WORDS[found.fault],
            f"{value:.3g} {unit}".strip(),
        ]
        for spot in found.spots[:SPOTS_SHOWN]:
            place = ", ".join(word for word in (spot.place.region, spot.place.side) if word)
            height, area = f"{spot.place.height * CM_PER_M:.0f}", f"{spot.place.area_cm2:.1f}"
            table.add_row(*first, place, height, area, str(len(spot.vertices)), f"{spot.place.vertex}")
            first = ["", "", ""]
        if len(found.spots) > SPOTS_SHOWN:
            table.add_row("", "", "", f"and {len(found.spots) - SPOTS_SHOWN} more")
    return table


def _sides(one: MorphAudit) -> str:
    words = SIDE_WORDS[one.sides]
    return f"{words}, with {one.partner}" if one.partner else words


def _verdict(severity: str) -> Text:
    return Text(severity, style=SEVERITY_STYLES[severity])
