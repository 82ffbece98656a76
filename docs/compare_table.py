"""Rewrite the table of `docs/compare.md`: which method wins where, on garments of the demo.

    dressform demo saltmarsh --all
    python docs/compare_table.py saltmarsh

It runs `dressform compare` once and takes some minutes, most of them for the repairs.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

from regenerate import rewritten

from dressform.body.shapes import ShapeSettings
from dressform.garment.following import DEFAULT_FOLLOWING, METHODS, Following
from dressform.jobs.compare.run import Compared, compare_sides
from dressform.jobs.compare.sides import Side, SideSettings
from dressform.jobs.load import load_body, load_garment
from dressform.report.tables.comparison import winners
from dressform.units import counted

GARMENTS = ("guernsey", "waistcoat", "souwester", "clogs", "gloves")
SHAPES = ShapeSettings(strongest=0, sobol=4)
SHOWN = ("exposed", "depth", "pucker", "bent", "stretch", "clearance", "crossing", "folded", "layers", "setup")
PAGE = Path(__file__).resolve().parent / "compare.md"
MARK = "winners"


def compared(folder: Path, names: tuple[str, ...]) -> Compared:
    """The four methods and the repaired smooth one, over garments of the demo."""
    body = load_body(folder / "body.glb", base="woman")
    garments = [load_garment(folder / "garments" / f"{name}.glb", beside=body) for name in names]
    sides = [Side(method, {}, Following(method=method)) for method in METHODS]
    sides.append(Side("repaired", {}, DEFAULT_FOLLOWING, repaired=True))
    return compare_sides(body, garments, sides, SideSettings(shapes=SHAPES))


def table(found: Compared) -> Iterator[str]:
    """Lines of Markdown; bold is the least of a line and what is no worse."""
    told = found.told
    rows = counted(told.pairs[0].rows, "row")
    yield f"Worst value of each garment over the same shapes, {rows} a side; bold is the least, and what is no worse."
    yield ""
    yield f"| measure | garment | {' | '.join(told.sides)} |"
    yield f"|---|---|{'---:|' * len(told.sides)}"
    for measure, garment, values, wins in winners(told):
        if measure.measure in SHOWN and any(values):
            cells = (f"**{value:.1f}**" if won else f"{value:.1f}" for value, won in zip(values, wins))
            words = f"{measure.words}, {measure.unit}" if measure.unit else measure.words
            yield f"| {words} | {garment} | {' | '.join(cells)} |"


def main() -> None:
    """Write the table between its marks."""
    folder = Path(sys.argv[1])
    names = tuple(sys.argv[2:]) or GARMENTS
    blocks = {MARK: "\n".join(table(compared(folder, names)))}
    PAGE.write_text(rewritten(PAGE.read_text(encoding="utf-8"), blocks), encoding="utf-8")


if __name__ == "__main__":
    main()
