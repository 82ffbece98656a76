"""Levels of detail as a table, and in sentences."""

from dressform.formats.results.levels_schema import StoredLevel, StoredLevels
from dressform.report.tables.check import NOTHING
from dressform.report.tables.whole_table import WholeTable
from dressform.units import counted


def levels_line(told: StoredLevels) -> str:
    """The outcome in one sentence."""
    wrong = [one.name for one in told.levels if one.seen_wrong]
    pops = [one.name for one in told.levels if one.pops]
    count = counted(len(told.levels), "level")
    if not told.faulty:
        return f"{count}: nothing shows through at any, and none pops by more than {told.pop_allowed_mm:g} mm."
    parts = [f"still seen wrong: {', '.join(wrong)}"] if wrong else []
    parts += [f"more than {told.pop_allowed_mm:g} mm of pop: {', '.join(pops)}"] if pops else []
    return f"{count}; {'; '.join(parts)}."


def level_verdict(one: StoredLevel) -> str:
    """Whether something is seen wrong at a level, and whether it pops."""
    where = f" at {', '.join(one.stances)}" if one.stances else ""
    words = f"still seen wrong{where}" if one.seen_wrong else "nothing shows through"
    return f"{words}, pops" if one.pops else words


def level_sentence(one: StoredLevel) -> str:
    """How far a level is from the finer one, and where; empty for the finest."""
    beside = one.beside
    if beside is None:
        return ""
    return (
        f"{one.name} beside {beside.finer}: outlines {beside.outline_mm:.1f} mm apart "
        f"(± {beside.outline_within_mm:.1f}) at {beside.outline_shape}, seen {beside.outline_seen}, "
        f"{beside.outline_modelled_mm:.1f} mm as modelled; the clearance of 95 % of the cloth differs by at most "
        f"{beside.clearance_mm:.1f} mm, at {beside.clearance_shape}, anywhere by at most "
        f"{beside.clearance_most_mm:.1f} mm; {beside.shapes} shapes."
    )


def levels_table(told: StoredLevels) -> WholeTable:
    """Every level, the worst first."""
    table = WholeTable("Levels, the worst first", lead=2)
    for heading in ("level", "garment", "body", "verdict"):
        table.add_column(heading, overflow="fold")
    for heading in ("vertices", "skin shows, cm²", "certified, %", "outline from the finer, mm", "pop, mm",
                    "clearance differs, 95 %, mm"):  # fmt: skip
        table.add_column(heading, justify="right")
    for one in told.levels:
        beside = one.beside
        table.add_row(
            str(one.level), one.name, one.body, level_verdict(one), str(one.vertices), f"{one.skin_cm2:.1f}",
            f"{one.certified_percent:.3f}", *((NOTHING,) * 3 if beside is None else (
                f"{beside.outline_mm:.1f}", f"{beside.pop_mm:.1f}", f"{beside.clearance_mm:.1f}")),
        )  # fmt: skip
    return table
