"""A gate's verdict in Markdown, for the summary of a CI run or a comment."""

from collections.abc import Sequence

from dressform.formats.gate.judged import GateVerdict
from dressform.report.markdown import inert_words
from dressform.units import counted

LISTED = 50
"""So many garments are listed; the rest is counted."""


def markdown_summary(verdict: GateVerdict) -> str:
    """The text.

    Proof: tests/report/gate/test_forms.py
    """
    lines = [f"## dressform: {inert_words(verdict.sentence)}", ""]
    lines += [f"Body {inert_words(verdict.body)}: {_counts(verdict)}, in {verdict.seconds:.0f} s.", ""]
    if verdict.failing:
        lines += ["| garment | why it is not accepted | do first |", "|---|---|---|"]
        for one in verdict.failing[:LISTED]:
            more = f" (and {len(one.reasons) - 1} more)" if len(one.reasons) > 1 else ""
            do = one.line.actions[0] if one.line.actions else "–"
            name = f"{one.line.name} ({one.line.method})"
            lines.append(f"| {inert_words(name)} | {inert_words(one.reasons[0] + more)} | {inert_words(do)} |")
        if any(not one.line.actions for one in verdict.failing[:LISTED]):
            lines += ["", "–: nothing that was tried helps; with `--no-causes` nothing is tried."]
        if len(verdict.failing) > LISTED:
            lines.append(f"\nand {len(verdict.failing) - LISTED} more.")
        lines.append("")
    lines += _listed("Could not be checked", [one.sentence for one in verdict.failed])
    lines += _listed("Excuses that have run out, whose faults count again", [one.words for one in verdict.expired])
    excused = [
        f"{one.line.name}: {found.fault.words}; {found.excuse.reason}, until {found.excuse.until.isoformat()}"
        for one in verdict.garments
        for found in one.excused
        if found.excuse is not None
    ]
    lines += _listed("Excused", excused)
    lines += _listed("Excuses that meet nothing and can go", [one.words for one in verdict.idle])
    return "\n".join(lines).rstrip() + "\n"


def _counts(verdict: GateVerdict) -> str:
    """How many garments were checked, with how many methods, and how many could not be."""
    names = {one.line.name for one in verdict.garments}
    methods = {one.line.method for one in verdict.garments}
    broken = len({one.name for one in verdict.failed} - names)
    checked = f"{counted(len(names), 'garment')} checked" + (f" by {len(methods)} methods" if len(methods) > 1 else "")
    return checked + (f", {broken} could not be" if broken else "")


def _listed(title: str, items: Sequence[str]) -> list[str]:
    if not items:
        return []
    rest = [f"- and {len(items) - LISTED} more"] if len(items) > LISTED else []
    return [f"### {title}", "", *(f"- {inert_words(one)}" for one in items[:LISTED]), *rest, ""]
