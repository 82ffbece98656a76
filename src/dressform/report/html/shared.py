"""What the report says of places where several garments fail: both sides at once, and nothing that is contradicted."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dressform.faults.words import FAULT_WORDS
from dressform.formats.results.cluster_schema import StoredShared
from dressform.units import CM_PER_M, MM_PER_M

NEAR_MM = 80.0
"""Places of one fault on one side, whose heights differ by less, are one place to whoever reads of them."""
SIDES = ("left", "right")


@dataclass(frozen=True)
class SharedLine:
    """One place, or one and its mirror image.

    Attributes:
        fault: Words of the fault.
        garments: Names of the garments that fail there.
        where: Where that is.
        suspect: What that says about the cause.
    """

    fault: str
    garments: tuple[str, ...]
    where: str
    suspect: str


def shared_lines(shared: Sequence[StoredShared], names: Mapping[str, str]) -> list[SharedLine]:
    """One line for each place that garments of this report share.

    Two suspects at one place contradict each other: then nothing is said of it.

    Args:
        shared: The places.
        names: Name by key of each garment of the report; others are not named.
    """
    sound = [one for one in shared if not any(_contradict(one, other) for other in shared)]
    lines, left = [], [one for one in sound if len(_garments(one, names)) > 1]
    while left:
        first = left[0]
        alike = [one for one in left if one is first or _is_mirrored(one, first, names)][:2]
        left = [one for one in left if one not in alike]
        lines.append(_line(alike, names))
    return lines


def _line(alike: Sequence[StoredShared], names: Mapping[str, str]) -> SharedLine:
    """The words for a place, or for one and its mirror image."""
    first = alike[0]
    side = " and ".join(dict.fromkeys(one.side for one in alike))
    regions = " and ".join(dict.fromkeys(one.region.replace("_", " ") for one in alike if one.region))
    height = round(sum(one.height_mm for one in alike) / len(alike) * CM_PER_M / MM_PER_M)
    where = ", ".join(word for word in (regions, side, f"{height} cm above the ground") if word)
    return SharedLine(FAULT_WORDS[first.fault], _garments(first, names), where, first.sentence.rpartition(": ")[2])


def _garments(one: StoredShared, names: Mapping[str, str]) -> tuple[str, ...]:
    """Names of the garments of this report that fail there."""
    keys = [cluster.rpartition("/")[0] for cluster in one.clusters]
    return tuple(sorted({names[key] for key in keys if key in names}))


def _is_near(one: StoredShared, other: StoredShared) -> bool:
    return one.fault == other.fault and abs(one.height_mm - other.height_mm) < NEAR_MM


def _contradict(one: StoredShared, other: StoredShared) -> bool:
    """Whether two say different things of one place, or of a place and its mirror image."""
    return _is_near(one, other) and _sideless(one) == _sideless(other) and one.suspect != other.suspect


def _is_mirrored(one: StoredShared, other: StoredShared, names: Mapping[str, str]) -> bool:
    """Whether one is the other's mirror image, of the same garments."""
    is_beside = one.side != other.side and _sideless(one) == _sideless(other)
    return _is_near(one, other) and is_beside and _garments(one, names) == _garments(other, names)


def _sideless(one: StoredShared) -> str:
    """Front or back, without left or right."""
    return " ".join(word for word in one.side.split() if word not in SIDES)
