"""How many shapes are checked. The choice itself is in `shapes.py`, which needs numerics."""

from dataclasses import dataclass

from dressform.errors import ArgumentError

DEFAULT_STRONGEST = 6
DEFAULT_SOBOL = 64
DEFAULT_AT_STANCES = 8
"""Of the sample, so many are looked at at each stance: what shows most there the closed form and a search find."""
PAGE_SOBOL = 16
"""Of the check in the background of the page."""
MAX_SHAPES = 100_000
"""At the tenth of a second that a garment takes on one, three hours for each garment."""


@dataclass(frozen=True)
class ShapeSettings:
    """How many shapes of each kind are checked.

    Attributes:
        ends: Whether every morph is taken alone to each end of its interval.
        strongest: Number of strongest morphs whose pairs are all taken, at their ends.
        sobol: Size of the Sobol sample of the whole range.
        at_stances: So many of the sample are looked at at each stance; all where left out.

    Raises:
        ArgumentError: a number is negative, or the sample has more than `MAX_SHAPES` shapes.
    """

    ends: bool = True
    strongest: int = DEFAULT_STRONGEST
    sobol: int = DEFAULT_SOBOL
    at_stances: int | None = None

    def __post_init__(self) -> None:
        if not self.strongest >= 0:
            advice = "Give a number of morphs"
            raise ArgumentError.of("ShapeSettings", "strongest", "0 or more", f"{self.strongest:,}", advice)
        for name, count in (("sobol", self.sobol), ("at_stances", self.sampled_at_stances)):
            if not 0 <= count <= MAX_SHAPES:
                rule = f"0 to {MAX_SHAPES:,}"
                raise ArgumentError.of("ShapeSettings", name, rule, f"{count:,}", "Ask for so many shapes")

    @property
    def sampled_at_stances(self) -> int:
        """Size of the Sobol sample at each stance."""
        return self.sobol if self.at_stances is None else self.at_stances
