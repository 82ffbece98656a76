"""Garments of a run of which nothing is known, since they could not be read, fitted or measured."""

from typing import Literal

from dressform.formats.results.record import Record

FailedStage = Literal["read", "fitted", "measured"]


class FailedGarment(Record, frozen=True):
    """A garment of which nothing is known: its file is broken, or it cannot be worked on. The others went on.

    Attributes:
        name: Name of the garment.
        file: Its file, as it was given; empty where it has none.
        method: Method by which it was to follow; empty where that does not matter.
        stage: What could not be done with it.
        reason: Why, in one line.
    """

    name: str
    file: str
    stage: FailedStage
    reason: str
    method: str = ""

    @property
    def verdict(self) -> str:
        """What stands in the place of a verdict."""
        return f"not {self.stage}"

    @property
    def sentence(self) -> str:
        """Which garment, what could not be done, and why, in one line."""
        name = f"{self.name} ({self.method})" if self.method else self.name
        return f"{name}: {self.verdict}: {self.reason}"
