"""How many shapes are checked. The choice itself is in `shapes.py`, which needs numerics."""

from dataclasses import dataclass

DEFAULT_STRONGEST = 6
DEFAULT_SOBOL = 64


@dataclass(frozen=True)
class ShapeSettings:
    """How many shapes of each kind are checked.

    Attributes:
        ends: Whether every morph is taken alone to each end of its interval.
        strongest: Number of strongest morphs whose pairs are all taken, at their ends.
        sobol: Size of the Sobol sample of the whole range.
    """

    ends: bool = True
    strongest: int = DEFAULT_STRONGEST
    sobol: int = DEFAULT_SOBOL
