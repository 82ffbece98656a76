"""Tables of the advice bench: recall and precision by cause, what advice cures, and every miss by name."""

from collections.abc import Mapping, Sequence

from dressform.faults.results import SEVERITIES
from seeded_cases import PROPOSALS

Row = Mapping[str, str]
SEEDED = tuple(PROPOSALS)
"""Causes that are seeded, one after the other; what lies between layers is not."""
TRUE = 0.5
"""A seed counts where this share of the fault goes with it."""


def report(rows: Sequence[Row]) -> None:
    """The tables of each drawing apart."""
    for drawing in sorted({int(row.get("drawing") or 0) for row in rows}):
        mine = [row for row in rows if int(row.get("drawing") or 0) == drawing]
        print(f"\n## Drawing {drawing}: {'held back' if drawing else 'looked at'}\n")
        _tables(mine)


def _tables(rows: Sequence[Row]) -> None:
    seeded = [row for row in rows if row["kind"] != "clean" and float(row["true"]) >= TRUE]
    cleans = [row for row in rows if row["kind"] == "clean"]
    left = len(rows) - len(cleans) - len(seeded)
    print(f"{len(seeded)} seeds with a true share of a half and more; {left} with less are left out\n")
    _by_cause(seeded)
    right = [row for row in seeded if row["told"] == row["truth"]]
    offered = [row for row in seeded if int(row["offered"])]
    cured, little = (sum(int(row[name]) for row in offered) for name in ("cured", "graver"))
    shorter = sum(int(row["cured"]) * int(row.get("shorter") or 0) for row in offered)
    cured_there = sum(int(row["cured"]) for row in right)
    print(f"\nNamed rightly: {_of(len(right), len(seeded))}, of which {cured_there} are cured.")
    print(f"Advice is offered at {len(offered)} of {len(seeded)} seeded places and cures {cured} of them,")
    print(f"{shorter} of these over a shorter range of a morph;")
    print(f"at {little} of them something else goes from clean to slight by a quarter or less")
    silent = [row for row in cleans if not row["told"] and SEVERITIES.index(row["truth"]) < 2]
    print(f"Clean garments without a cause and without a moderate fault: {len(silent)} of {len(cleans)}")
    for row in [row for row in right if not int(row["cured"])]:
        print(f"- not cured: {row['name']}: {row['truth']}{'' if int(row['offered']) else ', nothing is offered'}")
    for row in [row for row in seeded if row["told"] != row["truth"]]:
        also = ", which has its half there as well" if _truly([row]) else ""
        print(f"- missed: {row['name']}: {row['truth']} ({row['true']}) is told as {row['told'] or 'none'}{also}")
    for row in [row for row in cleans if row not in silent]:
        print(f"- not silent: {row['name']}: {row['truth']}, {row['told'] or 'no cause'}")


def _by_cause(seeded: Sequence[Row]) -> None:
    print("| cause | seeds | recall | named | precision | advice cures |\n|---|---:|---:|---:|---:|---:|")
    for cause in SEEDED:
        mine = [row for row in seeded if row["truth"] == cause]
        named = [row for row in seeded if row["told"] == cause]
        right = [row for row in mine if row["told"] == cause]
        cured = sum(int(row["cured"]) for row in right)
        print(
            f"| {cause} | {len(mine)} | {_of(len(right), len(mine))} | {len(named)} | {_of(_truly(named), len(named))} "
            f"| {_of(cured, len(right))} |"
        )


def _truly(named: Sequence[Row]) -> int:
    """How many of the named causes truly have a half of the fault there; as seeded, where rows do not tell."""
    return sum(bool(int(row.get("half") or row["told"] == row["truth"])) for row in named)


def _of(count: int, of: int) -> str:
    return f"{count} of {of}" if of else "–"
