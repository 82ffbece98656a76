"""Clusters as the page is told them: where, how much, why, and what to change."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from dressform.causes.evidence_words import evidence_reading, evidence_words
from dressform.causes.results import Cluster, Explanation, Sighting
from dressform.faults.results import SEVERITIES, Place
from dressform.faults.words import FAULT_WORDS, reading_of
from dressform.formats.results.check_report import CheckReport, GarmentReport
from dressform.report.tables.check import label_words, where, worst_places
from dressform.report.tables.clusters import cause_words
from dressform.units import CM_PER_M, MM_PER_M, number, numbers

PLACES_LISTED = 12
"""So many places of a garment are listed where no causes were sought."""


def page_clusters(report: CheckReport) -> list[Explanation]:
    """Clusters of all garments, the gravest first and among equals those that a wearer sees most of.

    Where causes were not sought, every (fault, place) of the report stands for a cluster that has no cause.
    """
    found: list[Explanation] = []
    for garment in report.garments:
        found += _unexplained(garment) if report.causes is None else report.explained(garment)
    return sorted(found, key=_gravity, reverse=True)


def cluster_id(cluster: Cluster) -> str:
    """Tells a cluster from all others of a page."""
    return f"{cluster.garment}/{cluster.name}"


def _unexplained(garment: GarmentReport) -> list[Explanation]:
    """Places of a garment as clusters without a cause: each fault at each place, on all shapes that show it."""
    seen: dict[tuple[str, str], list[Sighting]] = {}
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
        explained.append(Explanation(cluster, place.value, (), "", "", None, {}))
    return explained


def _gravity(one: Explanation) -> tuple[int, float]:
    return SEVERITIES.index(one.cluster.worst.place.severity), one.cluster.noticed


def stored_cluster(one: Explanation, morphs: Sequence[str], pictures: Mapping[str, str]) -> dict[str, Any]:
    cluster, worst = one.cluster, one.cluster.worst
    place = worst.place
    value, unit = reading_of(place.fault, place.value)
    name = cluster_id(cluster)
    return {
        "id": name,
        "name": cluster.name,
        "garment": cluster.garment,
        "fault": place.fault,
        "fault_words": FAULT_WORDS[place.fault],
        "severity": place.severity,
        "value": number(value),
        "unit": unit,
        "region": place.region,
        "side": place.side,
        "height_mm": number(place.height * MM_PER_M),
        "part": place.part,
        "position": numbers(place.position),
        "vertex": int(place.vertex),
        "shape": {"label": label_words(worst.label, worst.weights, morphs), "weights": numbers(worst.weights)},
        "seen": len({sighting.label for sighting in cluster.sightings}),
        "cause": one.cause,
        "owner": one.owner,
        "because": cause_words(one) if one.shares else "",
        "shares": [
            {
                "cause": share.cause,
                "share": number(share.share),
                "alone": number(reading_of(place.fault, share.alone)[0]),
                "counterfactual": share.counterfactual,
            }
            for share in one.shares
        ],
        "where": one.advice.where if one.advice else place_words(place),
        "advice": one.advice.what if one.advice else "",
        "repair": one.advice.repair if one.advice else "",
        "evidence": [_evidence(figure, measured) for figure, measured in one.evidence.items()],
        **({"picture": pictures[name]} if name in pictures else {}),
    }


def _evidence(name: str, measured: float) -> dict[str, Any]:
    """One figure that advice rests on, in words."""
    value, unit, told = evidence_reading(name, measured)
    return {"words": evidence_words(told)[0], "value": number(value), "unit": unit}


def place_words(place: Place) -> str:
    """Where a place is, with its height: what is said where no advice says it better."""
    words = [where(place), f"{place.height * CM_PER_M:.0f} cm above the ground"]
    return ", ".join(word for word in words if word)


def stored_shared(report: CheckReport) -> list[dict[str, Any]]:
    """Places where several garments fail."""
    return [
        {
            "fault": one.fault,
            "region": one.region,
            "side": one.side,
            "height_mm": number(one.height * MM_PER_M),
            "clusters": [f"{garment}/{name}" for garment, name in one.clusters],
            "suspect": one.suspect,
            "sentence": one.sentence,
        }
        for one in report.shared
    ]
