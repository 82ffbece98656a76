"""Two results set against each other: paired differences, intervals, verdicts, what is new and what is gone."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from dressform.faults.results import SEVERITIES, Place
from dressform.formats.results.check_report import FAULTY
from dressform.formats.results.check_schema import StoredResults
from dressform.formats.results.compare_schema import (
    ComparedGarment,
    ComparedMeasure,
    ComparedPlace,
    CompareVerdict,
    StoredComparison,
    UnpairedRows,
)
from dressform.jobs.compare.gate import ReleaseGate
from dressform.jobs.compare.interval import mean_interval
from dressform.jobs.compare.measures import MEASURES, SETUP, CompareMeasure
from dressform.jobs.compare.pairs import (
    GarmentPair,
    differing_settings,
    missing_garments,
    pair_garments,
    renamed_garments,
)
from dressform.units import number

DEFAULT_GATE = ReleaseGate()


def compare_results(
    first: StoredResults,
    second: StoredResults,
    *,
    names: tuple[str, str] = ("A", "B"),
    gate: ReleaseGate = DEFAULT_GATE,
    other_files: bool = False,
    pairs: Mapping[str, str] | None = None,
) -> StoredComparison:
    """Compare two results over the garments, shapes and stances that both have.

    Args:
        first: The results that are compared with.
        second: The results that are judged.
        names: What both are called.
        gate: What may grow by how much before it is graver.
        other_files: Whether garments of one name may be of different files.
        pairs: Garments of the second results by those of the first that they are compared with, of other names.

    Raises:
        MatchError: unlike things; see `pair_garments`.
        ArgumentError: a pair names a garment that there is not.

    Proof: tests/jobs/compare/test_compared.py
    """
    renamed = renamed_garments(first, second, pairs or {})
    found_pairs = pair_garments(first, renamed, other_files=other_files, alike=tuple(pairs or ()))
    found = [one for pair in found_pairs for one in _of_garment(pair, gate)]
    told = [one for one in found if one.graver or one.eased or one.change or one.severity_after not in ("", "clean")]
    size = {measure.key: measure.counts_from for measure in MEASURES}
    told.sort(key=lambda one: (not one.graver, not one.eased, -abs(one.change) / size[one.measure], one.garment))
    first_places, second_places = _places(found_pairs, 0), _places(found_pairs, 1)
    return StoredComparison(
        first=names[0],
        second=names[1],
        versions=(dict(first.versions), dict(second.versions)),
        differing=differing_settings(first, second),
        body=first.body.name,
        body_sha256=first.body.source.sha256,
        tolerance=gate.share,
        limits=dict(gate.limits),
        rows=sum(len(pair.rows) for pair in found_pairs),
        unpaired_first=sum(len(pair.alone[0]) for pair in found_pairs),
        unpaired_second=sum(len(pair.alone[1]) for pair in found_pairs),
        unpaired=tuple(_unpaired(pair) for pair in found_pairs if any(pair.alone)),
        paired=dict(pairs or {}),
        missing=missing_garments(first, renamed, names),
        measures=tuple(_over_wardrobe(measure, found) for measure in MEASURES),
        garments=tuple(told),
        new=_alone(second_places, first_places),
        gone=_alone(first_places, second_places),
    )


def _unpaired(pair: GarmentPair) -> UnpairedRows:
    return UnpairedRows(garment=pair.first.name, both=len(pair.rows), first=pair.alone[0], second=pair.alone[1])


def _of_garment(pair: GarmentPair, gate: ReleaseGate) -> Iterator[ComparedGarment]:
    for measure in MEASURES:
        told = [
            (row, measure.value(pair.first, row.first), measure.value(pair.second, row.second)) for row in pair.rows
        ]
        rows = [(row, one, other) for row, one, other in told if one is not None and other is not None]
        if not rows:
            continue
        changes = [after - before for _, before, after in rows]
        most = rows[int(np.argmax(np.abs(changes)))][0]
        before, after = max(one for _, one, _ in rows), max(other for _, _, other in rows)
        graded = [_worst(measure.key, pair, side) for side in (0, 1)]
        yield ComparedGarment(
            garment=pair.first.name,
            measure=measure.key,
            before=number(before),
            after=number(after),
            change=number(after - before),
            severity_before=graded[0],
            severity_after=graded[1],
            mean_change=number(float(np.mean(changes))),
            shape=most.first.label,
            stance=most.stance,
            weights=dict(most.first.weights),
            graver=gate.is_graver(measure, before, after, (graded[0], graded[1])),
            eased=gate.is_graver(measure, after, before, (graded[1], graded[0])),
        )


def _worst(key: str, pair: GarmentPair, side: int) -> str:
    """The worst severity of a fault over the paired rows of one side; empty where it is not graded."""
    if key == SETUP:
        return ""
    graded = [row.of(side).severities.get(key, SEVERITIES[0]) for row in pair.rows]
    return max(graded, key=SEVERITIES.index)


def _over_wardrobe(measure: CompareMeasure, found: Sequence[ComparedGarment]) -> ComparedMeasure:
    own = [one for one in found if one.measure == measure.key]
    changes = np.array([one.change for one in own], dtype=np.float64)
    interval = mean_interval(changes)
    mean = float(changes.mean()) if own else 0.0
    return ComparedMeasure(
        measure=measure.key,
        words=measure.words,
        unit=measure.unit,
        garments=len(own),
        before=number(float(np.mean([one.before for one in own]))) if own else 0.0,
        after=number(float(np.mean([one.after for one in own]))) if own else 0.0,
        change=number(mean),
        low=None if interval is None else number(interval[0]),
        high=None if interval is None else number(interval[1]),
        better=int((changes < -measure.counts_from).sum()),
        worse=int((changes > measure.counts_from).sum()),
        verdict=_verdict(mean, interval, measure.counts_from),
        counts_from=measure.counts_from,
    )


def _verdict(mean: float, interval: tuple[float, float] | None, counts_from: float) -> CompareVerdict:
    low, high = interval or (mean, mean)
    if abs(mean) <= counts_from or low <= 0.0 <= high:
        return "no difference"
    return "better" if mean < 0.0 else "worse"


PlaceKey = tuple[str, str, str, str, str]


def _places(pairs: Sequence[GarmentPair], side: int) -> dict[PlaceKey, tuple[Place, str, str]]:
    """The worst of each fault at each part, region and side, with its shape and stance, from `FAULTY` on."""
    found: dict[PlaceKey, tuple[Place, str, str]] = {}
    for pair in pairs:
        for row in pair.rows:
            shape = row.of(side)
            for place in shape.places:
                key = pair.first.name, place.fault, place.part, place.region, place.side
                known = found.get(key)
                if SEVERITIES.index(place.severity) >= SEVERITIES.index(FAULTY) and (
                    known is None or _badness(place) > _badness(known[0])
                ):
                    found[key] = place, shape.label, row.stance
    return found


def _badness(place: Place) -> tuple[int, float]:
    return SEVERITIES.index(place.severity), abs(place.value)


def _alone(
    here: Mapping[PlaceKey, tuple[Place, str, str]], there: Mapping[PlaceKey, tuple[Place, str, str]]
) -> tuple[ComparedPlace, ...]:
    """Places that one side alone has, the gravest first."""
    found = [(key, *told) for key, told in here.items() if key not in there]
    found.sort(key=lambda one: (-SEVERITIES.index(one[1].severity), -one[1].area_cm2, one[0]))
    return tuple(
        ComparedPlace(
            garment=key[0],
            fault=place.fault,
            part=place.part,
            region=place.region,
            side=place.side,
            severity=place.severity,
            value=place.value,
            unit=place.unit,
            shape=shape,
            stance=stance,
        )
        for key, place, shape, stance in found
    )
