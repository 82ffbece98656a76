"""Frozen results about actions: one thing to do, the places that it cures, and what trying it left and spoilt."""

from msgspec import Struct

from dressform.faults.results import FaultName


class Effect(Struct, frozen=True):
    """What trying an action did to one fault, on the shapes where it was tried.

    Attributes:
        fault: One of `FAULTS`.
        before: The fault before, in `unit`; negative where cloth came nearer.
        after: The fault after.
        unit: Unit of both; empty for a pure number.
    """

    fault: FaultName
    before: float
    after: float
    unit: str


class Tried(Struct, frozen=True):
    """One thing that was done to the whole garment, literally as worded, and measured again.

    Attributes:
        words: What was done.
        by: Whose work it is: one of the owners of a cause.
        cured: Names of the places at which the fault is gone or down to a tenth.
        left: The worst of each fault at the action's places, before and after.
        spoilt: Faults that became graver anywhere on the garment, if only a little; empty where none did.
        offered: Whether it is advised: it cures half of the places' weight or more, and makes nothing graver,
            but for what goes from clean to slight by a quarter of its value or less.
        share: How much of the fault goes away, the places weighted by how much is noticed of each, 0 to 1.
    """

    words: str
    by: str
    cured: tuple[str, ...]
    left: tuple[Effect, ...]
    spoilt: tuple[Effect, ...]
    offered: bool
    share: float


class Action(Struct, frozen=True):
    """One thing for one person to do, with all the places that it is for.

    Attributes:
        name: Unique in its garment: `1` for the one whose places a wearer would notice most.
        cause: The cause of its places.
        subject: The morph or part that it is about, or empty.
        owner: Who can take the cause away.
        where: Its places in words: regions and heights.
        places: Names of its places, the most noticed first.
        noticed: How much a wearer sees of its places together; ranks actions, no unit.
        shapes: Number of shapes on which it was tried; 0 where it was not.
        tried: What was tried, the best first.
    """

    name: str
    cause: str
    subject: str
    owner: str
    where: str
    places: tuple[str, ...]
    noticed: float
    shapes: int
    tried: tuple[Tried, ...]

    @property
    def offered(self) -> tuple[Tried, ...]:
        """What is advised, the best first; empty where nothing that was tried helps without harm."""
        return tuple(one for one in self.tried if one.offered)
