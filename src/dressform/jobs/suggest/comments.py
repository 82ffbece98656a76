"""The comments of a settings file: what a garment leaves as it follows now, and the reason of every line."""

from dressform.formats.results.suggest_schema import SuggestedGarment
from dressform.report.tables.suggestion import change_words, left_words, way_words, where_words

TOLD = 3
"""So many ways are named in a row."""


def comments_of(one: SuggestedGarment) -> dict[str, str]:
    """Comments by setting; that of the whole garment has an empty name."""
    if one.differs:
        head = (
            f"As it follows now: {left_words(one.before, one.severity_before)}. With these lines: "
            f"{left_words(one.after, one.severity_after)}, on the {one.shapes} rows of a check."
        )
    else:
        head = f"Should follow as it does: {left_words(one.after, one.severity_after)}. {_why(one)}".rstrip()
    trades = [f"{way.words} would bring {way_words(way)}" for way in one.tried if way.verdict == "trades"][:TOLD]
    choice = f" Yours to weigh: {'; '.join(trades)}." if trades else ""
    return {"": head + choice} | {line.key: line.reason for line in one.lines}


def _why(one: SuggestedGarment) -> str:
    """What the plainest other ways would make graver."""
    graver = [way for way in one.tried if way.verdict == "graver"][:TOLD]
    told = [f"{way.words} brings {change_words(way.changes[:1])} at {where_words(way)}" for way in graver]
    return f"{'; '.join(told)}.".capitalize() if told else ""
