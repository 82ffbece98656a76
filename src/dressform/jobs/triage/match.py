"""Which of the places that were measured a note means."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from dressform.body.body import Body
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.clearance import CLEARANCE
from dressform.faults.registry import FAULT_OF, is_on_body
from dressform.faults.results import SEVERITIES, Place
from dressform.jobs.triage.words.hear import Heard, HeardWord, is_vague
from dressform.jobs.triage.words.vocabulary import FAULT, PART, PLACE, SIDE, Meaning
from dressform.sweep.results import SweepRow

NEAR = 0.03
"""A place whose rim comes within so many metres of a region lies there: people point no better, no source."""
LARGEST = 0.25
"""A place reaches no farther than this from the vertex that stands for it, metres."""
NEAR_HEIGHT = 0.02
"""The same of bands of height, as a share of stature."""


@dataclass(frozen=True)
class FoundPlace:
    """A place that may be what a note means.

    Attributes:
        place: The place.
        row: The row that it was measured in; None for what is wrong at the base already.
        at_base: Where its vertex is as modelled, metres, (3,).
        words: Words of the note that it fits.
    """

    place: Place
    row: SweepRow | None
    at_base: tuple[float, float, float]
    words: tuple[HeardWord, ...] = ()


class BodyPlaces:
    """Where the regions of a body are.

    Args:
        body: The body.
    """

    def __init__(self, body: Body) -> None:
        self._trees = {name: cKDTree(body.vertices[mask]) for name, mask in body.regions.items() if mask.any()}
        floor = float(body.vertices[:, 1].min())
        self._floor, self._stature = floor, float(np.ptp(body.vertices[:, 1])) or 1.0

    def holds(self, meaning: Meaning, found: FoundPlace) -> bool:
        """Whether a place lies, at least by its rim, where a place word means; by height where regions are unknown."""
        region = found.place.region
        if any(region == one or region.startswith(f"{one}_") for one in meaning.means) and not meaning.near:
            return True
        reach = min(float(np.sqrt(found.place.area / np.pi)), LARGEST)
        away = self._away(meaning, np.array(found.at_base))
        if not away:
            share = (found.at_base[1] - self._floor) / self._stature
            slack = NEAR_HEIGHT + reach / self._stature
            return meaning.heights[0] - slack <= share <= meaning.heights[1] + slack
        if meaning.side and meaning.side in found.place.side.split():
            return True
        if meaning.near:
            return len(away) > 1 and max(away.values()) <= meaning.near + reach
        return min(away.values()) <= NEAR + reach

    def _away(self, meaning: Meaning, point: np.ndarray) -> dict[str, float]:
        """How far a point is from each of the regions that a word means, metres; of pairs from the nearer one."""
        found: dict[str, float] = {}
        for region in meaning.means:
            for name, tree in self._trees.items():
                if name == region or name.startswith(f"{region}_"):
                    away = float(tree.query(point)[0])
                    found[region] = min(away, found.get(region, away))
        return found


def found_places(worn: GarmentOnBody, rows: Sequence[SweepRow], at_base: Sequence[Place]) -> tuple[FoundPlace, ...]:
    """Every place of some rows, and what is wrong at the base."""
    return tuple(
        FoundPlace(place, row, _base_point(worn, place))
        for row, places in [*((row, row.faults.places) for row in rows), (None, at_base)]
        for place in places
    )


def best_match(heard: Heard, places: Sequence[FoundPlace], body: BodyPlaces, parts: Sequence[str]) -> FoundPlace | None:
    """The place that a note means, with the words that fit it; None where none does.

    A note that names faults means one of them, one that names places means one of them, and nothing that it denies.
    Of what is left the place fits best that most of its words fit, one that lies in a named region before one that
    only touches it or lies on that side; then the fault that a word means first; then the gravest, then the largest. A
    vague note means what is moderate or grave.

    Args:
        heard: What the note says.
        places: What was found.
        body: Where the regions are.
        parts: Names of the garment's parts.

    Proof: tests/jobs/triage/test_match.py
    """
    fitting = list(_fitting(heard, places, body, parts))
    if is_vague(heard):
        fitting = [one for one in fitting if one.place.severity in SEVERITIES[2:]]
    return max(fitting, key=_rank, default=None)


def fits(word: HeardWord, found: FoundPlace, body: BodyPlaces) -> bool:
    """Whether a place fits one word."""
    meaning, place = word.meaning, found.place
    if meaning.kind == FAULT:
        return place.fault in meaning.means and not (
            place.fault == CLEARANCE.key and meaning.sign and meaning.sign * place.value < 0
        )
    if meaning.kind == PLACE:
        return body.holds(meaning, found)
    if meaning.kind == SIDE:
        return meaning.key in place.side.split()
    return meaning.kind == PART and any(name in place.part.lower() for name in meaning.means)


def _fitting(
    heard: Heard, places: Sequence[FoundPlace], body: BodyPlaces, parts: Sequence[str]
) -> Iterator[FoundPlace]:
    """Places that fit a note at all."""
    said = {kind: heard.said(kind) for kind in (FAULT, PLACE, SIDE, PART)}
    said[PART] = tuple(one for one in said[PART] if _has_part(one.meaning, parts))
    denied = _denied_faults(heard)
    for found in places:
        if found.place.fault in denied:
            continue
        matched = {kind: [one for one in words if fits(one, found, body)] for kind, words in said.items()}
        hard = [FAULT, PLACE] if said[FAULT] or said[PLACE] else [PART]
        if all(matched[kind] for kind in hard if said[kind]):
            words = tuple(one for kind in matched for one in matched[kind])
            yield FoundPlace(found.place, found.row, found.at_base, words)


def _denied_faults(heard: Heard) -> set[str]:
    """Faults that a note denies and does not name elsewhere."""
    said = {fault for one in heard.said(FAULT) for fault in one.meaning.means}
    return {fault for one in heard.denied(FAULT) for fault in one.meaning.means} - said


def _has_part(meaning: Meaning, parts: Sequence[str]) -> bool:
    return any(name in part.lower() for part in parts for name in meaning.means)


def _rank(found: FoundPlace) -> tuple[int, int, int, float, int]:
    strength = {(one.meaning.kind, one.meaning.key): _strength(one, found.place) for one in found.words}
    place = found.place
    first = min((one.meaning.means.index(place.fault) for one in found.words if one.meaning.kind == FAULT), default=0)
    seen = FAULT_OF[place.fault].visible * place.area_cm2
    return sum(strength.values()), -first, SEVERITIES.index(place.severity), seen, -place.vertex


def _strength(word: HeardWord, place: Place) -> int:
    """How much a word that fits speaks for a place: faults are needed anyway, a region that is named says most."""
    meaning = word.meaning
    if meaning.kind == FAULT:
        return 0
    named = any(place.region == one or place.region.startswith(f"{one}_") for one in meaning.means)
    return 2 if meaning.kind != PLACE or named else 1


def _base_point(worn: GarmentOnBody, place: Place) -> tuple[float, float, float]:
    points = worn.context.body.vertices if is_on_body(place.fault) else worn.fit.base
    x, y, z = points[place.vertex]
    return float(x), float(y), float(z)


def stance_of(heard: Sequence[HeardWord], names: Mapping[str, object]) -> str:
    """The stance that words mean, of those that a body is looked at in: the first; empty where none is."""
    for word in heard:
        for start in word.meaning.means:
            name = next((one for one in names if one.lower().startswith(start)), None)
            if name is not None:
                return name
    return ""
