"""What is wrong where, why, and what to do, as the page is told of it."""

from dressform.faults.results import Place, Severity
from dressform.formats.results.cluster_schema import StoredShare
from dressform.formats.results.record import Cause, Count, Owner, Record


class WeightsAbout(Record, frozen=True):
    """A set of weights with its name.

    Attributes:
        label: What a person reads.
        weights: One per slider.
    """

    label: str
    weights: tuple[float, ...]


class FigureAbout(Record, frozen=True):
    """A figure that advice rests on.

    Attributes:
        words: What it is.
        value: How much, in `unit`.
        unit: Unit, or empty.
    """

    words: str
    value: float
    unit: str


class ClusterAbout(Record, frozen=True):
    """One fault at one place of one garment, over shapes, and why it is there.

    Attributes:
        id: Tells it from all others of the page.
        name: Name within its garment: `1` is what a wearer would notice most.
        garment: Key of the garment.
        place: Where it is worst, and how bad it is there.
        fault_words: What a person reads for the fault.
        shape: The shape on which it is worst.
        stance: Name of the stance at which it is worst, or empty for rest.
        seen: On how many shapes it was seen.
        cause: The cause with the largest share, or empty.
        owner: Who can take the cause away, or empty.
        because: Cause, share and owner in words, or empty.
        shares: One per counterfactual that was tried, the largest first.
        where: Where it is, in words.
        advice: What to change, or empty.
        repair: Which repair does it instead, or empty.
        evidence: Figures that the advice rests on.
        picture: A close-up as a file name or data URI, or empty.
    """

    id: str
    name: str
    garment: str
    place: Place
    fault_words: str
    shape: WeightsAbout
    stance: str
    seen: Count
    cause: Cause
    owner: Owner
    because: str
    shares: tuple[StoredShare, ...]
    where: str
    advice: str
    repair: str
    evidence: tuple[FigureAbout, ...]
    picture: str = ""


class ActionAbout(Record, frozen=True):
    """One thing to do about one garment, with all the places that it is for.

    Attributes:
        id: Tells it from all others of the page.
        name: Its letter within its garment: `A` is the one whose places a wearer would notice most.
        garment: Key of the garment.
        severity: How bad the worst of its places is.
        cause: The cause of its places.
        owner: Who can take the cause away.
        where: The numbers of the places that it is for, and where they are.
        places: Ids of these places, the most noticed first.
        todo: What to do, each with what trying it left, the best first; where nothing helps, that.
        is_offered: Whether anything that was tried helps without harm.
    """

    id: str
    name: str
    garment: str
    severity: Severity
    cause: Cause
    owner: Owner
    where: str
    places: tuple[str, ...]
    todo: tuple[str, ...]
    is_offered: bool
