"""What a search found as records: what was tried, what each leaves, and the reason of every line."""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from dressform.faults.graded.hard import HARD
from dressform.faults.registry import FAULT_OF, FAULTS
from dressform.faults.results import SEVERITIES, Severity
from dressform.formats.results.suggest_schema import LeftFault, SuggestedGarment, SuggestedLine, TriedChange, TriedWay
from dressform.garment.following import Following
from dressform.jobs.check_report import following_object, garment_source
from dressform.jobs.suggest.search import GRAVER, Search, TriedFollowing
from dressform.jobs.suggest.verified import LeftRows, Suggesting
from dressform.jobs.suggest.ways import Way
from dressform.jobs.suggest.weigh import STIFF, Change, eased, graded_as, worst
from dressform.report.tables.check import label_words
from dressform.report.tables.suggestion import change_words
from dressform.units import number

STIFF_WORDS = "bend of what is likely stiff"
TAKEN: Final = "taken"
PART_FIELDS = ("parts", "part_joints")


def stored_garment(one: Suggesting) -> SuggestedGarment:
    """One garment as a record."""
    search, taken = one.search, one.taken
    start, names = search.shared.start, search.shared.start.body.morph_names
    gained = eased([left for _, left in search.start], [left for _, left in one.after])
    chosen = search.whole(taken) if taken else None
    return SuggestedGarment(
        name=start.garment.name,
        source=garment_source(start.garment),
        differs=bool(taken),
        now=following_object(start.following),
        should=following_object(one.following),
        lines=suggested_lines(search, taken, one.following, gained),
        signs=dict(search.shared.signs),
        severity_before=_severity(search.start),
        severity_after=_severity(one.after),
        before=left_faults(search.start, names),
        after=left_faults(one.after, names),
        tried=tuple(tried_way(way, names, taken=way is chosen) for way in search.tried.values()),
        shapes=len(one.after),
        seconds=one.seconds,
    )


def _severity(rows: LeftRows) -> Severity:
    """The worst grade of a check's faults."""
    grades = (grade for _, left in rows for key, grade in left.grades.items() if key != STIFF)
    return SEVERITIES[max(grades, default=0)]


def left_faults(rows: LeftRows, names: Sequence[str]) -> tuple[LeftFault, ...]:
    """Every fault at its worst over the rows of a check; and the bend of likely stiff parts, if graded."""
    found = []
    for key, (value, grade, place) in worst([left for _, left in rows]).items():
        if key in FAULTS or grade:
            shape, fault = rows[place][0], FAULT_OF[graded_as(key)]
            stance = "" if shape.stance is None else shape.stance.name
            found.append(
                LeftFault(
                    fault=key,
                    words=STIFF_WORDS if key == STIFF else fault.words,
                    value=number(value * fault.factor),
                    unit=fault.unit,
                    severity=SEVERITIES[grade],
                    shape=label_words(shape.label, shape.weights, tuple(names)),
                    stance=stance,
                )
            )
    return tuple(found)


def tried_way(tried: TriedFollowing, names: Sequence[str], *, taken: bool) -> TriedWay:
    """One way that was tried."""
    shape = tried.shape
    return TriedWay(
        words=tried.words,
        verdict=TAKEN if taken else tried.verdict,
        changes=tuple(_change(one) for one in tried.changes),
        price=tuple(_change(one) for one in tried.price),
        shape="" if shape is None else label_words(shape.label, shape.weights, tuple(names)),
        stance="" if shape is None or shape.stance is None else shape.stance.name,
        shapes=tried.shapes,
    )


def suggested_lines(
    search: Search,
    taken: Sequence[Way],
    following: Following,
    changes: Sequence[Change],
) -> tuple[SuggestedLine, ...]:
    """Every setting that differs, each with its reason.

    Args:
        search: The search.
        taken: The changes that were taken.
        following: How the garment should follow.
        changes: What all of them together ease over all shapes.
    """
    lines = []
    for way in taken:
        reason = _reason(search, taken, way, changes)
        for key, value in _settings(way, search.shared.start.following, following).items():
            signs = _signs(search.shared.signs, key, following)
            lines.append(SuggestedLine(key=key, value=value, reason=f"{signs}{reason[0].upper()}{reason[1:]}"))
    return tuple(lines)


def change_texts(changes: Sequence[Change]) -> str:
    """Changes in words, as `change_words` of the tables."""
    return change_words([_change(one) for one in changes])


def _reason(search: Search, taken: Sequence[Way], way: Way, changes: Sequence[Change]) -> str:
    """What a change does over the whole range or, beside others, what is worse without it on the shapes tried."""
    if len(taken) == 1:
        return f"{change_texts(changes)}, at the worst over the range."
    shared, without = search.shared, search.without(taken, way)
    if without.verdict == GRAVER and without.shape is not None:
        return f"without it, at {without.shape.label}: {change_texts(without.changes)}."
    full = search.whole(taken)
    pairs = [(shared.left(without.following, shape), shared.left(full.following, shape)) for shape in search.looked]
    gained = eased([one for one, _ in pairs], [other for _, other in pairs])
    return (
        f"{change_texts(gained) or 'a little of each fault'}, on the {len(pairs)} shapes tried, beside the other lines."
    )


def _settings(way: Way, start: Following, following: Following) -> dict[str, str]:
    """The settings that a change sets, and their values."""
    found: dict[str, str] = {}
    for name in way.changes:
        value = getattr(following, name)
        if name in PART_FIELDS:
            found |= {f"{name}.{part}": _short(value[part]) for part in way.changes[name]}
        elif name == "hard":
            found[name] = ", ".join(part for part in value if part not in start.hard)
        else:
            found[name] = _short(value)
    return found


def _short(value: object) -> str:
    if isinstance(value, np.ndarray):
        return f"{len(value)} painted numbers"
    return f"{value:g}" if isinstance(value, float) else str(value) or "the joint that carries most"


def _signs(signs: Mapping[str, str], key: str, following: Following) -> str:
    """Why the parts of a line are taken for stiff, where it makes them so."""
    if key != "hard" and not key.startswith("part_joints."):
        return ""
    parts = following.hard if key == "hard" else (key.partition(".")[2],)
    told = dict.fromkeys(signs[part] for part in parts if part in signs)
    return f"{'; '.join(told)}. ".capitalize() if told else ""


def _change(one: Change) -> TriedChange:
    fault = FAULT_OF[graded_as(one.fault)]
    return TriedChange(
        fault=one.fault,
        words=STIFF_WORDS if one.fault == STIFF else fault.words,
        before=number(one.before * fault.factor),
        after=number(one.after * fault.factor),
        unit=HARD.unit if one.fault == STIFF else fault.unit,
        severity_before=SEVERITIES[one.grade_before],
        severity_after=SEVERITIES[one.grade_after],
    )
