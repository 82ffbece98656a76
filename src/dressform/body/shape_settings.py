"""How many shapes are looked at; the choice itself is in `shapes.py`, which needs numerics."""

from dataclasses import dataclass

DEFAULT_STRONGEST = 6
DEFAULT_SOBOL = 64


@dataclass(frozen=True)
class ShapeSettings:
    """How many shapes of each kind are looked at.

    Attributes:
        ends: Whether every morph is taken alone to each end of its interval.
        strongest: Among how many of the strongest morphs all pairs are taken, at their ends.
        sobol: Size of the Sobol sample of the whole range.
    """

    ends: bool = True
    strongest: int = DEFAULT_STRONGEST
    sobol: int = DEFAULT_SOBOL
