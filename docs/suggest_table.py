"""Rewrite the table of `docs/suggest_following.md`: how garments of the demo should follow.

    dressform demo saltmarsh --all
    python docs/suggest_table.py saltmarsh

It looks at rest alone, and takes some minutes.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

from regenerate import rewritten

from dressform.body.shapes import ShapeSettings
from dressform.formats.results.suggest_schema import SuggestedGarment
from dressform.jobs.load import load_body, load_garment
from dressform.jobs.suggest.run import SuggestResult, suggest_following
from dressform.report.tables.suggestion import left_words, way_words

GARMENTS = ("souwester", "clogs", "gloves", "waistcoat", "skirt", "coat")
SHAPES = ShapeSettings(strongest=0, sobol=8)
PAGE = Path(__file__).resolve().parent / "suggest_following.md"
MARK = "suggested"


def suggested(folder: Path, names: tuple[str, ...]) -> SuggestResult:
    """How garments of the demo should follow."""
    body = load_body(folder / "body.glb", base="woman")
    garments = [load_garment(folder / "garments" / f"{name}.glb", beside=body) for name in names]
    return suggest_following(body, garments, shapes=SHAPES)


def table(found: SuggestResult) -> Iterator[str]:
    """Lines of Markdown, one per garment."""
    yield "| garment | should follow | leaves now | would leave | likely stiff | the nearest other way |"
    yield "|---|---|---|---|---|---|"
    for one in found.told.garments:
        lines = ", ".join(f"`{line.key} = {line.value}`" for line in one.lines) or "as it does"
        after = left_words(one.after, one.severity_after) if one.differs else "–"
        signs = "; ".join(dict.fromkeys(one.signs.values())) or "nothing"
        cells = (one.name, lines, left_words(one.before, one.severity_before), after, signs, _other(one))
        yield f"| {' | '.join(cells)} |"


def _other(one: SuggestedGarment) -> str:
    """What came nearest to being taken: a trade, else the stiffest way."""
    trades, graver = ([way for way in one.tried if way.verdict == verdict] for verdict in ("trades", "graver"))
    ways = trades or graver
    return f"{ways[0].words}: {way_words(ways[0])}" if ways else "–"


def main() -> None:
    """Write the table between its marks."""
    folder = Path(sys.argv[1])
    names = tuple(sys.argv[2:]) or GARMENTS
    blocks = {MARK: "\n".join(table(suggested(folder, names)))}
    PAGE.write_text(rewritten(PAGE.read_text(encoding="utf-8"), blocks), encoding="utf-8")


if __name__ == "__main__":
    main()
