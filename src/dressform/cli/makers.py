"""Reports for makers: where each goes, and whether there is a garment of that name."""

from collections.abc import Iterable, Sequence
from pathlib import Path

from dressform.errors import ArgumentError


def makers_reports(report: Path | None, names: Iterable[str]) -> dict[str, Path]:
    """The file of each maker's report, beside the one of all garments, by the garment's name.

    Raises:
        ArgumentError: no report was asked for, or a name would lead to another folder.
    """
    files = {}
    for name in names:
        if report is None:
            raise ArgumentError.of("check", "for_maker", "given with --report", repr(name), "Name a report as well")
        if Path(name).name != name:
            raise ArgumentError.of("check", "for_maker", "the name of a garment", repr(name), "Leave folders out")
        files[name] = report.with_name(f"{report.stem}-{name}{report.suffix}")
    return files


def refuse_unknown_makers(names: Iterable[str], garments: Sequence[str]) -> None:
    """Refuse makers of garments that are not checked, before any work.

    Raises:
        ArgumentError: a name is not that of a garment; those are listed.
    """
    for name in names:
        if name not in garments:
            rule = f"a garment that is checked: {', '.join(garments)}"
            raise ArgumentError.of("check", "for_maker", rule, repr(name), "Use one of these")
