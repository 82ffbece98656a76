"""Ways of following that are tried: off, how strongly, how soft the rim, stiff, one joint; per part or painted."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dressform.arrays import VertexScalars
from dressform.garment.along import distance_along
from dressform.garment.following import HEAVIEST, ONE_JOINT, Following
from dressform.garment.garment import FULL_STRENGTH, NO_STRENGTH, Garment
from dressform.jobs.suggest.shared import SharedGarment
from dressform.units import MM_PER_M

OVERALL = (1.0, 0.0, 0.5, 0.75, 0.25)
"""Strengths of the whole garment that are tried beside the one that is set."""
OF_PARTS = (1.0, 0.0, 0.5)
"""Strengths of one part, or of parts that are named alike."""
FALLOFFS_MM = (10.0, 80.0, 0.0)
"""Widths of the rim beside the one that is set, mm along the cloth."""
FADES = ((0.150, 0.250), (0.050, 0.150), (0.020, 0.060))
"""Clearances from which strength fades, and at which it is none, metres."""
SPOT_STRENGTHS = (0.0, 0.5)
"""Strengths that are painted where a fault lies."""
MOST_GROUPS = 12
"""So many groups of parts are tried, the largest first."""
SIDES = frozenset(("left", "right", "l", "r", "front", "back"))


@dataclass(frozen=True)
class Way:
    """One change of how a garment follows.

    Attributes:
        words: What it is, for people.
        changes: Fields of `Following` that it sets; mappings and hard parts are added to those that are there.
    """

    words: str
    changes: Mapping[str, Any]

    def on(self, following: Following) -> Following:
        """The following with this change."""
        changes = dict(self.changes)
        for name in ("parts", "part_joints"):
            if name in changes:
                changes[name] = {**getattr(following, name), **changes[name]}
        if "hard" in changes:
            changes["hard"] = tuple(dict.fromkeys((*following.hard, *changes["hard"])))
        return replace(following, **changes)


def part_groups(garment: Garment) -> list[tuple[str, tuple[str, ...]]]:
    """Parts that are named alike but for numbers and sides, with what they share; the largest group first."""
    groups: dict[str, list[str]] = {}
    for name in garment.part_names:
        groups.setdefault(_stem(name), []).append(name)
    sizes = np.bincount(garment.face_parts, minlength=len(garment.part_names))
    known = {name: int(sizes[part]) for part, name in enumerate(garment.part_names)}
    told = [(stem if len(names) > 1 else names[0], tuple(names)) for stem, names in groups.items()]
    return sorted(told, key=lambda one: -sum(known[name] for name in one[1]))[:MOST_GROUPS]


def plain_ways(shared: SharedGarment) -> Iterator[Way]:
    """Strength of all, and of each group of parts: what is told of every garment, whether anything is wrong or not."""
    now = shared.start.following
    for strength in OVERALL:
        if strength != now.strength:
            yield Way(_strength_words("", strength), {"strength": strength})
    groups = part_groups(shared.garment)
    for stem, names in groups if len(groups) > 1 else ():
        for strength in OF_PARTS:
            if any(now.parts.get(name, now.strength) != strength for name in names):
                yield Way(_strength_words(stem, strength), {"parts": dict.fromkeys(names, strength)})
    if (shared.garment.strength < FULL_STRENGTH).any():
        yield Way("paint left out", {"mask": np.full(len(shared.garment.strength), FULL_STRENGTH)})


def stiff_ways(shared: SharedGarment) -> Iterator[Way]:
    """Parts as stiff pieces: those that are likely stiff together, then every group."""
    garment, now = shared.garment, shared.start.following
    groups = part_groups(garment)
    signed = tuple(name for name in garment.part_names if name in shared.signs)
    sets = dict.fromkeys((signed, garment.part_names, *(names for _, names in groups)))
    stems = {names: stem for stem, names in groups}
    for names in sets:
        if names and not set(names) <= set(now.hard):
            what = "all of it" if names == garment.part_names else stems.get(names, ", ".join(names))
            yield Way(f"{what} stiff", {"hard": names})


def joint_ways(shared: SharedGarment) -> Iterator[Way]:
    """Stiff parts on one joint each, where the garment is posed: neither may help without the other."""
    if shared.start.skin is None:
        return
    garment = shared.garment
    signed = tuple(name for name in garment.part_names if name in shared.signs)
    if signed:
        named, joints = ", ".join(signed), dict.fromkeys(signed, HEAVIEST)
        yield Way(f"{named} stiff on one joint", {"hard": signed, "part_joints": joints})
        yield Way(f"{named} on one joint", {"part_joints": joints})
    yield Way("all of it on one joint", {"joint_weights": ONE_JOINT})


def painted_ways(shared: SharedGarment, spots: Mapping[str, np.ndarray]) -> Iterator[Way]:
    """Strength painted by clearance, and where faults lie.

    Args:
        shared: The garment.
        spots: By the words of a fault, the cloth on which it is graded, (G,).
    """
    garment, away = shared.garment, shared.clearance
    for near, far in FADES:
        if (away > near).any() and (away < near).any():
            paint = np.clip((far - away) / (far - near), NO_STRENGTH, FULL_STRENGTH)
            words = f"painted: less from {near * MM_PER_M:.0f} mm off the skin, none from {far * MM_PER_M:.0f} mm"
            yield _painted(shared, words, paint)
    for fault, spot in spots.items():
        if not spot.any() or spot.all():
            continue
        reach = distance_along(garment.vertices, garment.faces, spot, within=shared.start.following.falloff or 0.03)
        share = np.minimum(reach / (shared.start.following.falloff or 0.03), 1.0)
        rim = share * share * (3.0 - 2.0 * share)
        for strength in SPOT_STRENGTHS:
            yield _painted(shared, f"painted: {_amount(strength)} where it is {fault}", strength + (1 - strength) * rim)


def falloff_ways(following: Following) -> Iterator[Way]:
    """Other widths of the rim, where there is one."""
    if following.parts or following.mask is not None:
        for width in FALLOFFS_MM:
            if width != following.falloff_mm:
                yield Way(f"falloff {width:g} mm", {"falloff_mm": width})


def all_ways(shared: SharedGarment, spots: Mapping[str, np.ndarray], *, posed: bool) -> Sequence[Way]:
    """Everything that is tried of a garment with faults, the likeliest to be right first."""
    ways = [*stiff_ways(shared), *(joint_ways(shared) if posed else ()), *plain_ways(shared)]
    return [*ways, *painted_ways(shared, spots)]


def _painted(shared: SharedGarment, words: str, paint: VertexScalars) -> Way:
    """A mask in the precision of its file, so that it is the same when it is read again."""
    rounded = np.clip(paint * shared.garment.strength, NO_STRENGTH, FULL_STRENGTH).astype(np.float32)
    return Way(words, {"mask": rounded.astype(np.float64)})


def _amount(strength: float) -> str:
    return "off" if strength == NO_STRENGTH else f"strength {strength:g}"


def _strength_words(part: str, strength: float) -> str:
    words = {NO_STRENGTH: "off", FULL_STRENGTH: "fully"}
    return f"{part or 'all of it'} {words.get(strength, f'at strength {strength:g}')}"


def _stem(name: str) -> str:
    """A name without its numbers and sides."""
    words = re.split(r"[\s_.-]+", re.sub(r"\d+", " ", name))
    kept = [word for word in words if word and word.lower() not in SIDES]
    return " ".join(kept) or name
