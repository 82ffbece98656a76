"""Places where several garments fail alike, so that the body or the following is the suspect."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.body.body import Body
from dressform.causes.results import BODY, FOLLOWING, GARMENT, Explanation, SharedPlace
from dressform.faults.pucker import SMOOTH_BELOW, WINDOW_RADIUS, pucker_index, pucker_windows
from dressform.faults.registry import is_on_body
from dressform.fit.fit import Fit
from dressform.units import CM_PER_M

SHARED_REACH = 0.06
"""Clusters of two garments are at one place when they lie nearer than this to each other at the base, metres."""
MIN_GARMENTS = 3
"""So many garments must fail at a place before it is one that they share: two may be cut by one pattern."""
ROUGH_SKIN = SMOOTH_BELOW
"""From this pucker index on skin is itself rough enough to be seen through the cloth that follows it."""


@dataclass(frozen=True, eq=False)
class _Member:
    """A cluster, its body, its garment's name (one for all methods), and its middle at the base."""

    explanation: Explanation
    body: Body
    garment: str
    middle: Float[np.ndarray, "3"]


def shared_places(fits: Mapping[str, Fit], explained: Mapping[str, Sequence[Explanation]]) -> tuple[SharedPlace, ...]:
    """Gather the clusters of one fault that several garments have at one place, those of most garments first.

    The suspect is the owner of the causes there. Where they belong to different owners, each garment fails for a reason
    of its own, and nothing is said. Where none is named, the garments have only the skin and the following in common:
    the body is suspected if its own skin puckers there on the worst shape (index at least `ROUGH_SKIN`), else the
    following. Places at stances are left out.

    Args:
        fits: Garments by key.
        explained: Their explanations by the same keys.

    Proof: tests/causes/test_shared.py
    """
    members = [
        _Member(each, fits[key].body, fits[key].garment.name, _middle(fits[key], each))
        for key, explanations in explained.items()
        for each in explanations
        if each.cluster.worst.stance is None
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
        if len({member.garment for member in here}) >= MIN_GARMENTS and _agree(here):
            found.append(_told(here))
    return tuple(sorted(found, key=lambda place: (-len({key for key, _ in place.clusters}), place.height)))


def _middle(fit: Fit, explanation: Explanation) -> Float[np.ndarray, "3"]:
    """Middle of a cluster at the base, metres."""
    cluster = explanation.cluster
    points = fit.body.vertices if is_on_body(cluster.fault) else fit.garment.vertices
    return points[cluster.vertices].mean(axis=0)


def _told(members: Sequence[_Member]) -> SharedPlace:
    """The result for clusters at one place."""
    first = members[0].explanation.cluster
    place = first.worst.place
    suspect = _suspect(members)
    garments = sorted({member.garment for member in members})
    height = float(np.mean([member.explanation.cluster.worst.place.height for member in members]))
    where = f"{place.region or 'one place'}, {place.side}, {height * CM_PER_M:.0f} cm above the ground"
    sentence = f"{len(garments)} garments ({', '.join(garments)}) fail alike at {where}: {_WORDS[suspect]}"
    return SharedPlace(
        fault=first.fault,
        region=place.region,
        side=place.side,
        height=height,
        clusters=tuple((one.garment, one.name) for one in (member.explanation.cluster for member in members)),
        suspect=suspect,
        sentence=sentence,
    )


def _agree(members: Sequence[_Member]) -> bool:
    """Whether the causes that are named there belong to one owner: else each garment has a reason of its own."""
    return len({member.explanation.owner for member in members if member.explanation.owner}) <= 1


_WORDS = {
    BODY: "the body's own morphs are the suspect, before any garment",
    FOLLOWING: "the way they follow is the suspect, before any garment",
    GARMENT: "each of them is cut alike there, and each maker has to change it",
}


def _suspect(members: Sequence[_Member]) -> str:
    """The owner that the causes name; where none is named, judged from the skin there."""
    for member in members:
        if member.explanation.owner:
            return member.explanation.owner
    return BODY if _skin_roughness(members[0]) >= ROUGH_SKIN else FOLLOWING


def _skin_roughness(member: _Member) -> float:
    """Largest pucker index of the body's own skin within `SHARED_REACH` of a cluster, on its worst shape."""
    body = member.body
    away = np.linalg.norm(body.vertices - member.middle, axis=1)
    reach = max(SHARED_REACH, float(away.min()) + WINDOW_RADIUS)  # loose cloth stands farther off than that
    faces = body.faces[(away[body.faces] <= reach + 2.0 * WINDOW_RADIUS).any(axis=1)]
    used, corners = np.unique(faces, return_inverse=True)
    windows = pucker_windows(body.vertices[used], corners.reshape(faces.shape))
    index = pucker_index(windows, body.at(member.explanation.cluster.worst.weights)[used])
    return float(index[windows.owner][away[used] <= reach].max(initial=0.0))
