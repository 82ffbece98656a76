"""Places where several garments fail alike: then the body or the following is the suspect, not one maker."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.body.body import Body
from dressform.causes.results import BODY, FOLLOWING, GARMENT, Explanation, SharedPlace
from dressform.fit.fit import Fit

SHARED_REACH = 0.06
"""Clusters of two garments are at one place when they lie nearer than this to each other on the base shape, metres."""
LEAST_GARMENTS = 2
"""So many garments must fail at a place before it is one that they share."""


@dataclass(frozen=True, eq=False)
class _Member:
    """A cluster, and where its middle is on the base shape."""

    explanation: Explanation
    middle: Float[np.ndarray, "3"]

    @property
    def garment(self) -> str:
        return self.explanation.cluster.garment


def shared_places(
    body: Body, fits: Mapping[str, Fit], explained: Mapping[str, Sequence[Explanation]]
) -> tuple[SharedPlace, ...]:
    """Gather the clusters of one fault that several garments have at one place, those of most garments first.

    The suspect is the owner that most of the causes there name; where no cause is named, it is the body, as cloth of
    different cuts has nothing else in common there.

    Args:
        body: The body.
        fits: Garments by key.
        explained: Their explanations by the same keys.

    Proof: tests/causes/test_shared.py
    """
    members = [
        _Member(each, _middle(body, fits[key], each))
        for key, explanations in explained.items()
        for each in explanations
    ]
    left = sorted(members, key=lambda member: -member.explanation.cluster.noticed)
    found = []
    while left:
        first = left[0]
        fault = first.explanation.cluster.fault
        here = [
            member
            for member in left
            if member.explanation.cluster.fault == fault
            and np.linalg.norm(member.middle - first.middle) <= SHARED_REACH
        ]
        left = [member for member in left if member not in here]
        if len({member.garment for member in here}) >= LEAST_GARMENTS:
            found.append(_told(here))
    return tuple(sorted(found, key=lambda place: (-len({key for key, _ in place.clusters}), place.height)))


def _middle(body: Body, fit: Fit, explanation: Explanation) -> Float[np.ndarray, "3"]:
    """Middle of a cluster on the base shape, metres."""
    cluster = explanation.cluster
    points = body.vertices if cluster.fault == "exposed" else fit.garment.vertices
    return points[cluster.vertices].mean(axis=0)


def _told(members: Sequence[_Member]) -> SharedPlace:
    """What is said about clusters at one place."""
    first = members[0].explanation.cluster
    place = first.worst.place
    suspect = _suspect([member.explanation for member in members])
    garments = sorted({member.garment for member in members})
    height = float(np.mean([member.explanation.cluster.worst.place.height for member in members]))
    where = f"{place.region or 'one place'}, {place.side}, {height:.2f} m above the ground"
    sentence = f"{len(garments)} garments ({', '.join(garments)}) fail alike at {where}: {_WORDS[suspect]}"
    return SharedPlace(
        fault=first.fault,
        region=place.region,
        side=place.side,
        height=height,
        clusters=tuple((member.garment, member.explanation.cluster.name) for member in members),
        suspect=suspect,
        sentence=sentence,
    )


_WORDS = {
    BODY: "the body's own morphs are the suspect, before any garment",
    FOLLOWING: "the way they follow is the suspect, before any garment",
    GARMENT: "each of them is cut alike there, and each maker has to change it",
}


def _suspect(explanations: Sequence[Explanation]) -> str:
    """The owner that most of the causes name; the body where none is named."""
    owners = Counter(each.owner for each in explanations if each.owner)
    return owners.most_common(1)[0][0] if owners else BODY
