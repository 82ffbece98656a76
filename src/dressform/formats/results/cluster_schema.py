"""What a JSON of results says of the places of a garment, and why they are there."""

from typing import Annotated

from msgspec import Meta

from dressform.causes.results import Advice
from dressform.faults.results import FaultName, Place
from dressform.formats.results.record import (
    Cause,
    Count,
    NonNegative,
    Owner,
    Record,
    Share,
)
from dressform.formats.results.shape_schema import StoredSighting


class StoredShare(Record, frozen=True):
    """What one cause has to do with a place.

    Attributes:
        cause: Which cause.
        share: Part of the fault that goes away with this cause, averaged over the orders in which ingredients are
            swapped.
        alone: The fault with only this ingredient swapped, in the `unit` of the place.
        counterfactual: What was swapped.
    """

    cause: Cause
    share: Share
    alone: float
    counterfactual: str


class StoredCluster(Record, frozen=True):
    """One fault at one connected place, over shapes, and why it is there.

    Attributes:
        name: Number of the place within its garment: `1` is what a wearer would notice most.
        place: Where it is worst, and how bad it is there.
        vertices: Vertices that belong to it on its worst shape: of the body for `exposed`, of the cloth for every other
            fault.
        noticed: How much a wearer sees of it; ranks clusters, no unit.
        seen: Shapes on which it was seen, the worst first.
        measured: The fault at the place on its worst shape as it is, in the place's `unit`: what shares are shares of.
        shares: One per counterfactual that was tried, the largest share first.
        cause: The cause with the largest share; empty where none explains enough.
        owner: Who can take the cause away; empty where there is none.
        advice: What to do; null where no cause was found.
        evidence: Figures that the cause rests on, units at the end of their names; what follows a `/` is the morph or
            base body that a figure is of.
    """

    name: str
    place: Place
    vertices: tuple[Count, ...]
    noticed: NonNegative
    seen: Annotated[tuple[StoredSighting, ...], Meta(min_length=1)]
    measured: float
    shares: tuple[StoredShare, ...]
    cause: Cause
    owner: Owner
    advice: Advice | None
    evidence: dict[str, float]


class StoredShared(Record, frozen=True):
    """Somewhere on the body where several garments fail.

    Attributes:
        fault: Which fault.
        region: Region of the body; empty where the body names none.
        side: Side, as in a place.
        height_mm: Mean height above the ground, mm.
        clusters: The places of the garments there, as `GARMENT METHOD/NUMBER`.
        suspect: Who is the suspect.
        sentence: The same in one sentence.
    """

    fault: FaultName
    region: str
    side: str
    height_mm: float
    clusters: tuple[str, ...]
    suspect: Owner
    sentence: str
