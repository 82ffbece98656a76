"""Why what the cases of one garment found is there, and what to do about it."""

from collections.abc import Mapping, Sequence

from dressform.causes.action import Action
from dressform.causes.actions.make import make_actions
from dressform.causes.actions.words import effect_words, unhelped_words
from dressform.causes.explain import explain_garment
from dressform.causes.results import Explanation
from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES
from dressform.faults.words import FAULT_WORDS
from dressform.formats.results.triage_schema import TriageRemedy
from dressform.jobs.case.seeing import Seen, picture_of, view_of
from dressform.jobs.triage.bench import TriageBench, only, place_of
from dressform.jobs.triage.match import FoundPlace
from dressform.jobs.triage.records import CausedCase, CausedGarment, SeenCase
from dressform.report.pictures.faults import Appearance, look_at
from dressform.report.pictures.picture import png_bytes
from dressform.report.tables.check import where
from dressform.sweep.results import SweepRow
from dressform.units import PERCENT

CLOSE = 0.25
"""A picture shows so many metres round its place."""
SAME = 0.08
"""A place that was merged into a cluster is known by being so near to its vertex, metres, beside its own radius."""


def explain_cases(bench: TriageBench, seen: Mapping[str, SeenCase], *, look: Appearance | None) -> CausedGarment:
    """Find the causes of what cases found, all at once, as places of one cause are one action.

    Only what somebody complained about is explained.

    Args:
        bench: The garment.
        seen: What was found, by the file of the case.
        look: The garment's own colours, to draw a picture of each matter; None to draw none.
    """
    found = {file: place for file, one in seen.items() if (place := place_of(bench, one)) is not None}
    if not found:
        return CausedGarment({}, {})
    rows = _rows(bench, list(found.values()))
    explained = explain_garment(bench.worn, rows, key=bench.key, stances=bench.stances)
    wanted = {file: _explanation(bench, explained, place) for file, place in found.items()}
    chosen = [one for one in explained if any(one is other for other in wanted.values())]
    actions = make_actions(bench.worn, rows, chosen, stances=bench.stances)
    of_place = {name: action for action in actions for name in action.places}
    caused = {
        file: _caused(found[file], one, None if one is None else of_place.get(one.cluster.name))
        for file, one in wanted.items()
    }
    return CausedGarment(caused, {} if look is None else _pictures(bench, found, caused, look))


def _rows(bench: TriageBench, found: Sequence[FoundPlace]) -> list[SweepRow]:
    """The rows in which the places were found, with these alone; the base, and the worst corners without any."""
    constant = {(one.place.fault, one.place.vertex) for one in found if FAULT_OF[one.place.fault].is_constant}
    base = bench.base()
    kept = {id(base): [place for place in base.faults.places if (place.fault, place.vertex) in constant]}
    rows = {id(base): base}
    for one in found:
        if one.row is None:
            continue
        rows[id(one.row)] = one.row
        places = kept.setdefault(id(one.row), [])
        if one.place not in places:
            places.append(one.place)
    for row in bench.usual():
        rows.setdefault(id(row), row)
    return [only(row, kept.get(key, [])) for key, row in rows.items()]


def _explanation(bench: TriageBench, explained: Sequence[Explanation], found: FoundPlace) -> Explanation | None:
    """The explanation of the cluster that holds a place: it was seen there, else the nearest of the same fault."""
    place = found.place
    for one in explained:
        for sighting in one.cluster.sightings:
            same_shape = (
                found.row is None
                or FAULT_OF[place.fault].is_constant
                or (sighting.weights.tobytes() == found.row.weights.tobytes())
            )
            if same_shape and (sighting.place.fault, sighting.place.vertex) == (place.fault, place.vertex):
                return one
    near = [(away, one) for one in explained if (away := _away(bench, one, found)) <= SAME]
    return min(near, key=lambda pair: pair[0])[1] if near else None


def _away(bench: TriageBench, one: Explanation, found: FoundPlace) -> float:
    """How far a place lies from a cluster of the same fault, as modelled, metres; infinite for another fault."""
    worst = one.cluster.worst
    posed = found.row is not None and found.row.stance is not None
    if worst.place.fault != found.place.fault or (worst.stance is not None) != posed:
        return float("inf")
    points = bench.worn.context.body.vertices if FAULT_OF[worst.place.fault].on == "body" else bench.worn.fit.base
    away = ((points[one.cluster.vertices] - found.at_base) ** 2).sum(axis=1)
    return float(away.min() ** 0.5) if away.size else float("inf")


def _caused(found: FoundPlace, one: Explanation | None, action: Action | None) -> CausedCase:
    place = found.place
    spot = f"{FAULT_WORDS[place.fault]} at {where(place)}"
    if one is None:
        return CausedCase(f"fault {place.fault} {place.region or place.part}", "", spot)
    share = max((each.share for each in one.shares), default=0.0) if one.cause else 0.0
    if not one.cause:
        nearest = one.shares[0] if one.shares else None
        tried = "Nothing that was swapped takes enough of it away" + (
            f"; the nearest, {nearest.counterfactual}, takes {nearest.share * PERCENT:.0f} %." if nearest else "."
        )
        return CausedCase(f"place {one.cluster.name}", "", spot, because=tried)
    because = f"{one.cause}: {share * PERCENT:.0f} % of it goes when that alone is changed"
    if action is None:
        return CausedCase(f"place {one.cluster.name}", "", spot, one.cause, one.owner, share, because)
    remedies = tuple(
        TriageRemedy(words=each.words, by=each.by, effect=effect_words(each), share=each.share)
        for each in action.offered
    )
    tried = "" if remedies else unhelped_words(action)
    return CausedCase(
        f"action {action.name}", action.subject, action.where, one.cause, one.owner, share, because, remedies, tried
    )


def _pictures(
    bench: TriageBench, found: Mapping[str, FoundPlace], caused: Mapping[str, CausedCase], look: Appearance
) -> dict[str, bytes]:
    """A picture of the gravest place of each matter."""
    drawn: dict[str, bytes] = {}
    for file in sorted(found, key=lambda file: _gravity(found[file]), reverse=True):
        key = caused[file].key
        if key not in drawn:
            drawn[key] = _picture(bench, found[file], look)
    return drawn


def _gravity(found: FoundPlace) -> tuple[int, float]:
    place = found.place
    return SEVERITIES.index(place.severity), FAULT_OF[place.fault].visible * place.area_cm2


def _picture(bench: TriageBench, found: FoundPlace, look: Appearance) -> bytes:
    row = found.row or bench.base()
    fields = bench.worn.fields(row.weights, row.stance)
    seen = Seen(bench.worn.fit, row.weights, row.faults, fields)
    place = found.place
    camera = look_at(place, seen.body, seen.fit, fields, radius=CLOSE) if place.vertex >= 0 else view_of(seen, None)
    return png_bytes(picture_of(seen, camera, look, fault=place.fault, ring=place))
