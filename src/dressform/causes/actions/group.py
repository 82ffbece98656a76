"""Groups the explained places of one garment by cause and subject; mirror images fall into one group."""

from collections.abc import Sequence

from dressform.causes.advice_words import region_words
from dressform.causes.evidence import figures_of
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.remedies.remedy import Group
from dressform.causes.results import METHOD, RIGID_PATCH, ROUGH_MORPH, SHOULD_NOT_FOLLOW, Explanation
from dressform.units import CM_PER_M

REGIONS_NAMED = 4
SUBJECT_OF = {RIGID_PATCH: "rim_step", ROUGH_MORPH: "morph_noise", SHOULD_NOT_FOLLOW: "hard_way"}
"""The figure whose largest one names the morph or part that an action of a cause is about."""


def grouped(worn: ExplainedGarment, explained: Sequence[Explanation]) -> list[Group]:
    """The explained places that have a cause, by cause and subject, the most noticed group first."""
    found: dict[tuple[str, str], list[Explanation]] = {}
    for one in explained:
        if one.cause:
            found.setdefault((one.cause, subject_of(one)), []).append(one)
    groups = [Group(worn, cause, subject, tuple(places)) for (cause, subject), places in found.items()]
    return sorted(groups, key=lambda group: (-noticed(group), group.cause, group.subject))


def subject_of(one: Explanation) -> str:
    """The morph or part that the cause of a place is about, or empty."""
    figures = figures_of(one.evidence, SUBJECT_OF.get(one.cause, "")) if one.cause in SUBJECT_OF else {}
    return max(figures, key=lambda name: (figures[name], name)) if figures else ""


def noticed(group: Group) -> float:
    """How much a wearer sees of a group's places together."""
    return sum(one.cluster.noticed for one in group.explained)


def where_words(group: Group) -> str:
    """Where the places are: `belly and left upper arm, 94 to 121 cm above the ground`; whole where it is the method."""
    if group.cause == METHOD and len(group.explained) > REGIONS_NAMED:
        return "all over"
    places = [one.cluster.worst.place for one in group.explained]
    regions = list(dict.fromkeys(_pair_words(place.region, places) for place in places if place.region))
    told = regions[:REGIONS_NAMED] + (["elsewhere"] if len(regions) > REGIONS_NAMED else [])
    named = " and ".join(filter(None, [", ".join(told[:-1]), *told[-1:]]))
    heights = sorted(round(place.height * CM_PER_M) for place in places)
    reach = f"{heights[0]} cm" if heights[0] == heights[-1] else f"{heights[0]} to {heights[-1]} cm"
    return ", ".join(filter(None, [named, f"{reach} above the ground"]))


def _pair_words(region: str, places: Sequence[object]) -> str:
    """A region, or both of a pair where both are among the places."""
    named = {getattr(place, "region", "") for place in places}
    stem, ending = region[:-2], region[-2:]
    if ending in ("_l", "_r") and {stem + "_l", stem + "_r"} <= named:
        return "both " + stem.replace("_", " ") + "s"
    return region_words(region)
