"""Judges what `dressform check` found, and writes the verdict for CI systems."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime

from dressform.cli.console import out
from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.gate_options import GateOptions
from dressform.cli.outputs import write_file, wrote
from dressform.errors import ArgumentError
from dressform.faults.results import SEVERITIES
from dressform.formats.gate.rules_file import Rules, read_rules
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.garment_line import GarmentLine, line_of
from dressform.jobs.gate.judge import judge_gate
from dressform.report.gate.junit import junit_xml
from dressform.report.gate.markdown import markdown_summary
from dressform.report.gate.sarif import sarif_json


def rules_of(asked: GateOptions) -> Rules:
    """The rules that options ask for.

    Raises:
        ArgumentError: no severity has that name.
        FileError: see `read_rules`.
    """
    rules = Rules() if asked.rules is None else read_rules(asked.rules)
    if asked.fail_on is None:
        return rules
    if asked.fail_on not in SEVERITIES[1:]:
        rule = f"one of {', '.join(SEVERITIES[1:])}"
        raise ArgumentError.of("check", "fail_on", rule, repr(asked.fail_on), "Use one of these")
    return replace(rules, fail_on=asked.fail_on)


def judge_report(report: CheckReport, asked: GateOptions, rules: Rules) -> int:
    """Judge the garments of a report; see `judge_lines`."""
    lines = [line_of(report, one) for one in report.worst_first()]
    files = {one.name: one.source.file for one in report.garments}
    return judge_lines(lines, report.body.name, files, report.failed, asked, rules, seconds=report.seconds)


def judge_lines(
    lines: Sequence[GarmentLine],
    body: str,
    files: Mapping[str, str],
    failed: Sequence[FailedGarment],
    asked: GateOptions,
    rules: Rules,
    *,
    seconds: float,
) -> int:
    """Judge garments, write the verdict in the forms asked for, print it, and say how the command ends."""
    today = datetime.now(UTC).astimezone().date()
    verdict = judge_gate(lines, body=body, files=files, failed=failed, rules=rules, today=today, seconds=seconds)
    for path, form in ((asked.junit, junit_xml), (asked.sarif, sarif_json), (asked.summary, markdown_summary)):
        if path is not None:
            write_file(path, form(verdict))
    console = out()
    console.print()
    console.print(f"{verdict.sentence}.", style="bold")
    for one in verdict.failing:
        console.print(f"{one.line.name} ({one.line.method}): {one.reasons[0]}")
    for excuse in verdict.expired:
        console.print(f"note: an excuse has run out, and its fault counts again: {excuse.words}")
    for excuse in verdict.idle:
        console.print(f"note: an excuse meets nothing of what was checked: {excuse.words}")
    for line in wrote(asked.junit, asked.sarif, asked.summary):
        console.print(line)
    return EXIT_BAD_INPUT if verdict.failed else EXIT_CLEAN if verdict.passes else EXIT_FAULTS
