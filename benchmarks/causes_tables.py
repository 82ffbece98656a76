"""What a run of the seeded faults says: one row per case, kept as CSV, and the tables made of them."""

import csv
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from itertools import pairwise
from pathlib import Path

import numpy as np

from dressform.causes.results import CAUSES

NONE, UNSEEN = "none", "unseen"
"""No cause was named; no cluster was found at the place."""
SINGLE, APART, SAME, CLEAN, DROPPED = "single", "two places", "same place", "clean", "dropped"
"""Kinds of rows: one cause, two at two places, two at one, none, and a seed that shows nothing."""
SHORT = dict(zip(CAUSES, ("shape", "few", "rigid_patch", "foot", "end", "stiff", "tight", "rough", "method", "below")))
SHARE_BINS = (0.0, 0.25, 0.5, 0.75, 0.9, 1.0)
SEPARATOR = " + "


@dataclass(frozen=True)
class Row:
    """One case.

    Attributes:
        name: Garment, causes, number.
        kind: See above.
        garment: Name of the clean garment.
        truth: Causes put in, joined by a plus.
        told: Causes named, likewise: per place the one of the cluster noticed most, or the two largest at one place.
        fault: Fault of that cluster.
        severity: Its severity.
        shape: The shape that shows it most.
        strength: Strength of each seed.
        share: Share that was given to the first cause at the cluster noticed most.
        true_share: Part of that fault that goes away when the first seed is taken out; not a number where the check
            counts nothing: at the base, and where no cluster is told.
        clusters: Clusters in all.
        wrong_elsewhere: Clusters away from the seeds to which a cause is given that was not put in.
        check_seconds: What checking took. explain_seconds: And explaining.
    """

    name: str
    kind: str
    garment: str
    truth: str = ""
    told: str = ""
    fault: str = ""
    severity: str = ""
    shape: str = ""
    strength: str = ""
    share: float = 0.0
    true_share: float = float("nan")
    clusters: int = 0
    wrong_elsewhere: int = 0
    check_seconds: float = 0.0
    explain_seconds: float = 0.0

    @property
    def right(self) -> bool:
        """Whether the set of causes named is the set of causes put in."""
        return set(self.told.split(SEPARATOR)) == set(self.truth.split(SEPARATOR))


def read_rows(path: Path) -> list[Row]:
    """Rows of an earlier run; none where there is no file."""
    if not path.exists():
        return []
    types = {field.name: field.type for field in fields(Row)}
    with path.open(newline="", encoding="utf-8") as stream:
        return [Row(**{name: types[name](text) for name, text in row.items()}) for row in csv.DictReader(stream)]


def add_row(path: Path, row: Row) -> None:
    """Append a row; the head where the file is new."""
    new = not path.exists()
    with path.open("a", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, [field.name for field in fields(Row)])
        if new:
            writer.writeheader()
        writer.writerow(
            {key: f"{value:.4g}" if isinstance(value, float) else value for key, value in asdict(row).items()}
        )


def print_tables(rows: Sequence[Row]) -> None:
    """Everything that docs/causes_bench.md shows."""
    kinds = {kind: [row for row in rows if row.kind == kind] for kind in (SINGLE, APART, SAME, CLEAN, DROPPED)}
    _counts(kinds)
    _confusion(kinds[SINGLE])
    _per_cause(kinds[SINGLE], kinds[DROPPED])
    _pairs(kinds)
    _calibration([row for row in rows if row.kind in (SINGLE, SAME) and np.isfinite(row.true_share)])
    _misses(kinds)


def _counts(kinds: dict[str, list[Row]]) -> None:
    single, clean = kinds[SINGLE], kinds[CLEAN]
    pairs = kinds[APART] + kinds[SAME]
    told = [*single, *pairs]
    false = [row for row in clean if row.clusters]
    print("\n| what | cases | right | share |\n|---|---:|---:|---:|")
    for name, some in (
        ("one cause", single),
        ("two causes", pairs),
        ("of these at two places", kinds[APART]),
        ("of these at one place", kinds[SAME]),
    ):
        print(f"| {name} | {len(some)} | {sum(row.right for row in some)} | {_share(row.right for row in some)} |")
    print(
        f"| clean, without a cause or a word | {len(clean)} | {len(clean) - len(false)} | "
        f"{_share(not row.clusters for row in clean)} |"
    )
    if told:
        ratios = [row.explain_seconds / row.check_seconds for row in told if row.check_seconds > 0]
        elsewhere = sum(row.wrong_elsewhere for row in told)
        print(
            f"\nSeeds that showed nothing and were dropped: {len(kinds[DROPPED])}. Clusters away from the seeds to "
            f"which a cause is given that was not put in: {elsewhere} of {sum(row.clusters for row in told)}. "
            f"Explaining over checking, a few shapes each: median {np.median(ratios):.1f}, "
            f"90 % under {np.percentile(ratios, 90):.1f}."
        )


def _confusion(rows: Sequence[Row]) -> None:
    columns = [*CAUSES, NONE, UNSEEN]
    print(f"\n| put in \\ named | {' | '.join([*SHORT.values(), NONE, UNSEEN])} |\n|---|{'---:|' * len(columns)}")
    for cause in CAUSES:
        some = [row for row in rows if row.truth == cause]
        cells = [sum(row.told == column for row in some) for column in columns]
        print(f"| {cause} ({SHORT[cause]}) | {' | '.join(str(cell) if cell else '·' for cell in cells)} |")


def _per_cause(rows: Sequence[Row], dropped: Sequence[Row]) -> None:
    print("\n| cause | cases | garments | recall | precision | seeds dropped |\n|---|---:|---:|---:|---:|---:|")
    for cause in CAUSES:
        some = [row for row in rows if row.truth == cause]
        named = [row for row in rows if row.told == cause]
        lost = sum(row.truth == cause for row in dropped)
        garments = len({row.garment for row in some})
        print(
            f"| {cause} | {len(some)} | {garments} | {_share(row.right for row in some)} | "
            f"{_share(row.right for row in named)} | {lost} |"
        )


def _pairs(kinds: dict[str, list[Row]]) -> None:
    print("\n| two causes | where | cases | right |\n|---|---|---:|---:|")
    for kind in (APART, SAME):
        for truth in sorted({row.truth for row in kinds[kind]}):
            some = [row for row in kinds[kind] if row.truth == truth]
            print(f"| {truth} | {kind} | {len(some)} | {sum(row.right for row in some)} |")


def _calibration(rows: Sequence[Row]) -> None:
    print("\n| share given | cases | mean share given | mean true share | mean distance |\n|---|---:|---:|---:|---:|")
    for low, high in pairwise(SHARE_BINS):
        some = [row for row in rows if low <= row.share < high or (row.share == high == SHARE_BINS[-1])]
        if some:
            given, true = np.array([(row.share, row.true_share) for row in some]).T
            print(
                f"| {low:g} to {high:g} | {len(some)} | {given.mean():.2f} | {true.mean():.2f} | "
                f"{np.abs(given - true).mean():.2f} |"
            )


def _misses(kinds: dict[str, list[Row]]) -> None:
    print("\n| missed | fault | shape | named | its share |\n|---|---|---|---|---:|")
    for row in (row for kind in (SINGLE, APART, SAME) for row in kinds[kind] if not row.right):
        print(f"| {row.name} | {row.fault} {row.severity} | {row.shape} | {row.told} | {row.share:.2f} |")
    for row in kinds[CLEAN]:
        if row.clusters:
            print(f"| {row.name} | {row.fault} {row.severity} | {row.shape} | {row.told} | |")


def _share(right: Sequence[bool]) -> str:
    kept = list(right)
    return f"{100 * sum(kept) / len(kept):.1f} %" if kept else "–"
