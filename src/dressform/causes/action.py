"""Frozen results about actions: one thing to do, the places that it cures, and what trying it left and spoilt."""

from string import ascii_uppercase

from msgspec import Struct

from dressform.faults.results import FaultName, Severity

RISES = 1.01
"""A fault that grows by no more than this factor stays as it is."""
HELPS_A_LITTLE = 0.05
"""A remedy that takes away a smaller share of the fault does not help at all."""


class Effect(Struct, frozen=True):
    """What trying an action did to one fault, on the shapes where it was tried.

    Attributes:
        fault: One of `FAULTS`.
        before: The fault before, in `unit`; negative where cloth came nearer.
        after: The fault after.
        unit: Unit of both; empty for a pure number.
        severity_before: Which band that is.
        severity_after: Which band it is after.
    """

    fault: FaultName
    before: float
    after: float
    unit: str
    severity_before: Severity = ""
    severity_after: Severity = ""

    @property
    def rises(self) -> bool:
        """Whether there is more of it after than before, beyond what rounding does."""
        return self.after > RISES * self.before and self.after > 0.0


class Tried(Struct, frozen=True):
    """One thing that was done to the whole garment, literally as worded, and measured again.

    Attributes:
        words: What was done.
        by: Whose work it is: one of the owners of a cause.
        cured: Names of the places at which the fault is gone or down to a tenth.
        left: The worst of each fault at the action's places, before and after.
        spoilt: Faults that became graver anywhere on the garment, if only a little; empty where none did.
        offered: Whether it is advised: it cures half of the places' weight or more, raises none of the faults that it
            is meant for, and makes nothing graver, but for what goes from clean to slight by a quarter of its value or
            less.
        share: How much of the fault goes away, the places weighted by how much is noticed of each, 0 to 1.
    """

    words: str
    by: str
    cured: tuple[str, ...]
    left: tuple[Effect, ...]
    spoilt: tuple[Effect, ...]
    offered: bool
    share: float

    @property
    def raises(self) -> bool:
        """Whether it raises a fault that it is meant for."""
        return any(one.rises for one in self.left)


class Action(Struct, frozen=True):
    """One thing for one person to do, with all the places that it is for.

    Attributes:
        name: Unique in its garment: `A` for the one whose places a wearer would notice most. Places have numbers, so
            that no number means two things.
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
    def nearest(self) -> Tried | None:
        """What came nearest to helping: of what takes some of the fault away and raises none, the first."""
        return next((one for one in self.tried if one.share >= HELPS_A_LITTLE and not one.raises), None)

    @property
    def offered(self) -> tuple[Tried, ...]:
        """What is advised, the best first; empty where nothing that was tried helps without harm."""
        return tuple(one for one in self.tried if one.offered)


def action_name(number: int) -> str:
    """The name of the `number`th action, counted from 1: A, B, …, Z, AA, AB, …"""
    letters = ""
    while number > 0:
        number, place = divmod(number - 1, len(ascii_uppercase))
        letters = ascii_uppercase[place] + letters
    return letters
