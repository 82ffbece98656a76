"""Over versions: what became of the matters of an earlier triage."""

from collections.abc import Sequence
from pathlib import Path

import msgspec

from dressform.errors import FileError
from dressform.faults.results import SEVERITIES
from dressform.formats.guards.limits import read_bytes
from dressform.formats.results.triage_schema import (
    CURED,
    FAILED,
    NEW,
    STILL,
    TRIAGE_SCHEMA,
    UNJUDGED,
    WORSE,
    ChangeKind,
    StoredTriage,
    TriageCase,
    TriageChange,
    TriageMatter,
)
from dressform.report.triage.answers import change_words

GROWS = 1.05
"""What has grown by no more than this factor, within its grade, is still there and not worse."""
MAX_BYTES = 256 * 1024**2


def read_triage(path: Path) -> StoredTriage:
    """Read what an earlier triage wrote.

    Raises:
        FileError: missing, too large, no JSON, or of another format; the field and the next step are named.
    """
    again = "Name a triage.json that `dressform triage` wrote"
    try:
        return msgspec.json.decode(read_bytes(path, most=MAX_BYTES), type=StoredTriage)
    except msgspec.ValidationError as problem:
        words, _, place = str(problem).partition(" - at `$")
        if "schema" in words or "schema" in place:
            words = f"is no {TRIAGE_SCHEMA}"
        raise FileError.of(path, place.rstrip("`").lstrip("."), words.replace("`", ""), again) from None
    except (msgspec.DecodeError, RecursionError) as problem:
        raise FileError.of(path, "", f"is not JSON: {problem}", again) from None


def changes_since(
    before: StoredTriage, matters: Sequence[TriageMatter], cases: Sequence[TriageCase]
) -> tuple[TriageChange, ...]:
    """What became of each matter: cured, still there, worse, new, or not judged.

    A matter goes on in the one that most of its own complaints belong to now. Where none of them belongs to any, it is
    cured if at least one of them was measured again, else nothing can be said.

    Args:
        before: The earlier triage.
        matters: The matters of today.
        cases: All complaints of today.

    Proof: tests/jobs/triage/test_against.py
    """
    now = {file: matter for matter in matters for file in matter.cases}
    measured = {one.file for one in cases if one.outcome != FAILED}
    found: list[TriageChange] = []
    continued: set[str] = set()
    for old in before.matters:
        mine = [now[file].name for file in old.cases if file in now]
        name = max(dict.fromkeys(mine), key=mine.count, default="")
        after = next((one for one in matters if one.name == name), None)
        if after is not None:
            continued.add(name)
            kind: ChangeKind = WORSE if _is_worse(old, after) else STILL
        else:
            kind = CURED if any(file in measured for file in old.cases) else UNJUDGED
        garments = old.garments if after is None else after.garments
        words = change_words(kind, old, after)
        found.append(TriageChange(kind=kind, before=old.name, after=name, garments=garments, words=words))
    for one in matters:
        if one.name not in continued:
            words = change_words(NEW, None, one)
            found.append(TriageChange(kind=NEW, before="", after=one.name, garments=one.garments, words=words))
    return tuple(found)


def _is_worse(old: TriageMatter, new: TriageMatter) -> bool:
    """Whether it is graded worse, or measures more of the same fault within its grade."""
    grades = [SEVERITIES.index(one.severity) for one in (old, new)]
    if grades[0] != grades[1]:
        return grades[1] > grades[0]
    return old.fault == new.fault and abs(new.place.value) > GROWS * abs(old.place.value)
