"""The work of triage on one garment: measure its cases, find what each note means, explain what was found."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from dressform.arrays import Weights
from dressform.body.shapes import label_of
from dressform.body.stance import Stance
from dressform.causes.explained_garment import ExplainedGarment
from dressform.errors import DressformError
from dressform.faults.results import SEVERITIES, Place
from dressform.faults.wardrobe import Wardrobe
from dressform.fit.fit import Fit
from dressform.formats.results.triage_schema import ELSEWHERE, FAILED, FOUND, NOT_FOUND, UNCLEAR, Outcome
from dressform.interrupts import raise_if_interrupted
from dressform.jobs.case.seeing import SAME_PLACE, still_wrong
from dressform.jobs.triage.bench import TriageBench
from dressform.jobs.triage.explain_cases import explain_cases
from dressform.jobs.triage.match import FoundPlace, best_match, found_places
from dressform.jobs.triage.records import CausedGarment, SeenCase
from dressform.jobs.triage.tell import not_found_reason, told_words
from dressform.jobs.triage.words.hear import Heard, is_vague
from dressform.report.pictures.faults import Appearance
from dressform.report.tables.cases import place_words as saved_words


@dataclass(frozen=True)
class CaseTask:
    """A case to look at.

    Attributes:
        file: Its file.
        heard: What its note says.
        weights: The shape, (K,), or None where it is not known.
        stance: Name of its stance; empty at rest.
        exact: Whether the shape was told as weights; one found by tape may be another that measures the same.
        place: The place that the case itself holds, or None.
        seen: What was found in an earlier run, or None.
    """

    file: str
    heard: Heard
    weights: Weights | None
    stance: str
    exact: bool
    place: Place | None = None
    seen: SeenCase | None = None


@dataclass(frozen=True)
class ComplaintsTask:
    """All cases of one garment on one body by one following.

    Attributes:
        garment: Key of the garment.
        cases: The cases.
        posed: Stances that cases hold themselves.
    """

    garment: str
    cases: tuple[CaseTask, ...]
    posed: tuple[Stance, ...] = ()

    @property
    def size(self) -> int:
        """How much work it is, in shapes."""
        return 32 + len(self.cases)


@dataclass(frozen=True)
class CaseSeen:
    """A case was measured and compared with its note."""

    garment: str
    file: str
    seen: SeenCase


@dataclass(frozen=True)
class GarmentCaused:
    """The causes of a garment's cases were found."""

    garment: str
    caused: CausedGarment


@dataclass(frozen=True)
class ExamineJob:
    """What every process needs.

    Attributes:
        fits: By key of the garment.
        wardrobes: How garments are prepared, by name of the body.
        stances: Stances of each body, by its name.
        looks: The garments' own colours, by the same keys, where pictures are drawn.
    """

    fits: Mapping[str, Fit]
    wardrobes: Mapping[str, Wardrobe[ExplainedGarment]]
    stances: Mapping[str, tuple[Stance, ...]]
    looks: Mapping[str, Appearance]

    def begin(self) -> Callable[[ComplaintsTask], Iterator[CaseSeen | GarmentCaused]]:
        """What looks at its garments in this process."""
        return self._run

    def _run(self, task: ComplaintsTask) -> Iterator[CaseSeen | GarmentCaused]:
        fit = self.fits[task.garment]
        worn = self.wardrobes[fit.body.name].worn(fit)
        bench = TriageBench(task.garment, worn, (*self.stances.get(fit.body.name, ()), *task.posed))
        found: dict[str, SeenCase] = {}
        try:
            for case in task.cases:
                raise_if_interrupted()
                found[case.file] = case.seen or look_at_case(bench, case)
                if case.seen is None:
                    yield CaseSeen(task.garment, case.file, found[case.file])
            yield GarmentCaused(task.garment, explain_cases(bench, found, look=self.looks.get(task.garment)))
        except DressformError as problem:  # of this garment alone: the others go on
            failed = SeenCase(FAILED, (), reason=str(problem))
            for case in task.cases:
                if case.file not in found:
                    yield CaseSeen(task.garment, case.file, failed)
            yield GarmentCaused(task.garment, CausedGarment({}, {}, str(problem)))


def look_at_case(bench: TriageBench, case: CaseTask) -> SeenCase:
    """Measure a case and find what its note means: at its own shape, else over the whole range."""
    heard, vague = case.heard, is_vague(case.heard)
    own: Sequence[FoundPlace] = ()
    if case.weights is not None:
        label = label_of(bench.worn.context.body.range, case.weights)
        own = found_places(bench.worn, [bench.row(label, case.weights, case.stance)], bench.at_base)
        if case.place is not None:
            return _at_its_place(bench, case, case.place, own)
        match = best_match(heard, own, bench.places, bench.parts)
        if match is not None:
            return _seen(FOUND, bench, case, match, vague)
    if vague:
        reason = "The note names no fault, no place and no part of the garment."
        return SeenCase(UNCLEAR, told_words(heard, None, bench.places), vague=True, reason=reason)
    wide = found_places(bench.worn, bench.searched(case.stance), bench.at_base)
    match = best_match(heard, wide, bench.places, bench.parts)
    if match is not None:
        outcome: Outcome = FOUND if case.weights is None or not case.exact else ELSEWHERE
        return _seen(outcome, bench, case, match, vague)
    reason = not_found_reason(heard, own if case.weights is not None else wide, bench.places)
    return SeenCase(NOT_FOUND, told_words(heard, None, bench.places), reason=reason)


def _at_its_place(bench: TriageBench, case: CaseTask, place: Place, own: Sequence[FoundPlace]) -> SeenCase:
    """A case that says by itself which place is meant: still wrong there, by the rule of a replay, or cured."""
    there = [
        one
        for one in own
        if place.fault in {"", one.place.fault}
        and math.dist(one.place.position_m, place.position_m) <= SAME_PLACE
        and still_wrong(place.severity, one.place.severity)
    ]
    if there:
        worst = max(there, key=lambda one: SEVERITIES.index(one.place.severity))
        return _seen(FOUND, bench, case, worst, vague=False)
    reason = f"When it was saved: {saved_words(place)}. Nothing of it is left at that place."
    return SeenCase(NOT_FOUND, told_words(case.heard, None, bench.places), reason=reason)


def _seen(outcome: Outcome, bench: TriageBench, case: CaseTask, match: FoundPlace, vague: bool) -> SeenCase:
    row = match.row or bench.base()
    reason = ""
    if outcome == ELSEWHERE:
        reason = f"Not at the shape that was told; at {row.label} it is."
    elif vague:
        reason = "The note does not say what is wrong; this is the gravest that is seen at its shape."
    elif case.weights is not None and row.weights.tobytes() != case.weights.tobytes() and match.row is not None:
        reason = f"Not at the shape that the tape asks for, which others share; at {row.label} it is."
    stance = "" if row.stance is None else row.stance.name
    weights = tuple(float(one) for one in row.weights)
    words = told_words(case.heard, match, bench.places)
    return SeenCase(outcome, words, match.place, row.label, weights, stance, vague, reason)
