"""Clusters in the page's form: where, how much, why, and what to change."""

from collections.abc import Iterable, Sequence

import numpy as np

from dressform.arrays import Weights
from dressform.body.shapes import SAME_WEIGHT
from dressform.causes.action import Action
from dressform.causes.actions.words import cured_words, effect_words, place_names, unhelped_words
from dressform.causes.advice import advise
from dressform.causes.evidence_words import evidence_reading, evidence_words
from dressform.causes.results import Advice, Cluster, Explanation, Sighting
from dressform.faults.places import band_value
from dressform.faults.results import SEVERITIES, Place
from dressform.faults.words import FAULT_WORDS
from dressform.formats.results.check_json import to_shares
from dressform.formats.results.check_report import CheckReport, GarmentReport
from dressform.formats.results.page.places import ActionAbout, ClusterAbout, FigureAbout, WeightsAbout
from dressform.report.tables.check import label_words, where, worst_places
from dressform.report.tables.clusters import cause_words
from dressform.units import CM_PER_M, number, numbers

OFFERED = 2
"""So many things to do are told of one action: the best, and one instead of it."""
PLACES_LISTED = 12
"""So many places of a garment are listed where no causes were sought."""


def page_clusters(report: CheckReport) -> list[Explanation]:
    """Clusters of all garments, the gravest first, and among equals the most noticed first.

    Where causes were not sought, every (fault, place) of the report becomes a cluster without a cause.
    """
    found: list[Explanation] = []
    for garment in report.garments:
        found += _unexplained(garment) if report.causes is None else report.explained(garment)
    return sorted(found, key=_gravity, reverse=True)


def places_on(weights: Weights, explained: Iterable[Explanation], *, most: int) -> dict[str, Place]:
    """Where a garment's places are on one shape, by their numbers: the first `most` that are seen there."""
    seen = {
        one.cluster.name: sighting.place
        for one in explained
        for sighting in one.cluster.sightings[::-1]
        if sighting.stance is None and np.allclose(sighting.weights, weights, rtol=0.0, atol=SAME_WEIGHT)
    }
    return dict(list(seen.items())[:most])


def cluster_id(cluster: Cluster) -> str:
    """An id that is unique on a page."""
    return f"{cluster.garment}/{cluster.name}"


def _unexplained(garment: GarmentReport) -> list[Explanation]:
    """Places of a garment as clusters without a cause: each fault at each place, on all shapes that show it."""
    garment, seen = garment.at_rest, dict[tuple[str, str], list[Sighting]]()
    for row in garment.rows:
        for place in row.faults.places:
            if place.severity != SEVERITIES[0]:
                sighting = Sighting(row.label, row.faults.weights, place)
                seen.setdefault((place.fault, where(place)), []).append(sighting)
    explained = []
    for rank, (row, place) in enumerate(worst_places(garment)[:PLACES_LISTED], start=1):
        worst = Sighting(row.label, row.faults.weights, place)
        others = [one for one in seen[place.fault, where(place)] if one.place is not place]
        noticed = float(SEVERITIES.index(place.severity)) + place.area
        cluster = Cluster(str(rank), garment.key, (worst, *others), np.array([place.vertex]), noticed)
        explained.append(Explanation(cluster, band_value(place), (), "", "", None, {}))
    return explained


def _gravity(one: Explanation) -> tuple[int, float]:
    return SEVERITIES.index(one.cluster.worst.place.severity), one.cluster.noticed


def advice_of(one: Explanation, actions: Iterable[Action]) -> Advice | None:
    """What was found at a place and what to do; at all places of an action but the first, only where that is said."""
    mine = next((action for action in actions if one.cluster.name in action.places), None)
    if one.advice is None or mine is None or mine.places[0] == one.cluster.name:
        return one.advice
    found = advise(one.cause, one.cluster, one.evidence).what
    return Advice(one.advice.where, f"{found}: do as action {mine.name} says", "")


def to_cluster(
    one: Explanation, morphs: Sequence[str], picture: str = "", *, actions: Sequence[Action] = ()
) -> ClusterAbout:
    """A place in the page's form.

    Args:
        one: The place.
        morphs: Names of the body's morphs.
        picture: A close-up of it, or empty.
        actions: The actions of its garment.
    """
    cluster, worst, advice = one.cluster, one.cluster.worst, advice_of(one, actions)
    return ClusterAbout(
        id=cluster_id(cluster),
        name=cluster.name,
        garment=cluster.garment,
        place=worst.place,
        fault_words=FAULT_WORDS[cluster.fault],
        shape=WeightsAbout(
            label=stance_words(label_words(worst.label, worst.weights, morphs), worst),
            weights=tuple(numbers(worst.weights)),
        ),
        stance=worst.seen_at[1],
        seen=len({(sighting.label, sighting.seen_at[1]) for sighting in cluster.sightings}),
        cause=one.cause,
        owner=one.owner,
        because=cause_words(one) if one.shares else "",
        shares=to_shares(cluster.fault, one.shares),
        where=place_words(worst.place) if advice is None else advice.where,
        advice="" if advice is None else advice.what,
        repair="" if advice is None else advice.repair,
        evidence=tuple(_evidence(figure, measured) for figure, measured in one.evidence.items()),
        picture=picture,
    )


def page_actions(report: CheckReport) -> tuple[ActionAbout, ...]:
    """What to do about all garments, that first of whose places a wearer sees most."""
    found = [(action, garment) for garment in report.garments for action in report.actions(garment)]
    found.sort(key=lambda pair: -pair[0].noticed)
    return tuple(_action(action, garment, report) for action, garment in found)


def _action(action: Action, garment: GarmentReport, report: CheckReport) -> ActionAbout:
    """An action in the page's form."""
    of_name = {one.cluster.name: one.cluster for one in report.explained(garment)}
    mine = [of_name[name] for name in action.places if name in of_name]
    todo = tuple(f"{one.words} ({cured_words(action, one)}: {effect_words(one)})" for one in action.offered[:OFFERED])
    return ActionAbout(
        id=f"{garment.key}/{action.name}",
        name=action.name,
        garment=garment.key,
        severity=max((one.worst.place.severity for one in mine), key=SEVERITIES.index, default=SEVERITIES[0]),
        cause=action.cause,
        owner=action.owner,
        where=f"{place_names(action)}: {action.where}",
        places=tuple(cluster_id(one) for one in mine),
        todo=todo or (unhelped_words(action),),
        is_offered=bool(todo),
    )


def stance_words(shape: str, seen: Sighting) -> str:
    """A shape, with the stance where a place was seen at one."""
    return shape if seen.stance is None else f"{shape}, {seen.stance.name}"


def _evidence(name: str, measured: float) -> FigureAbout:
    """One figure that advice rests on, in words."""
    value, unit, key = evidence_reading(name, measured)
    return FigureAbout(words=evidence_words(key)[0], value=number(value), unit=unit)


def place_words(place: Place) -> str:
    """Where a place is, with its height; used where no advice describes it."""
    words = [where(place), f"{place.height * CM_PER_M:.0f} cm above the ground"]
    return ", ".join(word for word in words if word)
