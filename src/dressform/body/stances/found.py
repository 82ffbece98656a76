"""Stances that were found for a body, and how."""

from dataclasses import dataclass

from dressform.body.stance import Stance
from dressform.body.stances.human import HumanJoints


@dataclass(frozen=True)
class FoundStances:
    """Stances of a body.

    Attributes:
        stances: In the order found; the modelled pose is not among them.
        joints: Which joints were recognised as those of a human body; None where nothing was looked for.
        source: Where the stances come from, in words.
        notes: How they were chosen, what they cost and what they leave out, one sentence each.
    """

    stances: tuple[Stance, ...] = ()
    joints: HumanJoints | None = None
    source: str = ""
    notes: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Their names; no arrays."""
        return (
            f"<FoundStances from {self.source or 'nowhere'}: {', '.join(one.name for one in self.stances) or 'none'}>"
        )
