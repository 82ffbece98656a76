"""How many shapes are checked. The choice itself is in `shapes.py`, which needs numerics."""

from dataclasses import dataclass

from dressform.errors import ArgumentError

DEFAULT_STRONGEST = 6
DEFAULT_SOBOL = 64
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

    Raises:
        ArgumentError: a number is negative, or the sample has more than `MAX_SHAPES` shapes.
    """

    ends: bool = True
    strongest: int = DEFAULT_STRONGEST
    sobol: int = DEFAULT_SOBOL

    def __post_init__(self) -> None:
        if not self.strongest >= 0:
            advice = "Give a number of morphs"
            raise ArgumentError.of("ShapeSettings", "strongest", "0 or more", f"{self.strongest:,}", advice)
        if not 0 <= self.sobol <= MAX_SHAPES:
            rule = f"0 to {MAX_SHAPES:,}"
            raise ArgumentError.of("ShapeSettings", "sobol", rule, f"{self.sobol:,}", "Ask for so many shapes")
