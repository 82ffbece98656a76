"""Corrective targets: what the turn of a joint adds to the cloth, so that a strong bend stays clear."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.arrays import ClothPoints
from dressform.body.skeleton import Skeleton
from dressform.body.stances.driver import Driver
from dressform.mesh.flat import flat_points, read_only


@dataclass(frozen=True, eq=False)
class Corrective:
    """One target of a garment that no wearer sets: a joint does, by its turn.

    Attributes:
        name: Name of the target in the file.
        driver: Which joint, and how.
        delta: What it adds to the base at value 1, in the modelled pose, (G, 3), metres.

    Raises:
        ArgumentError: a displacement is not finite.
    """

    name: str
    driver: Driver
    delta: ClothPoints

    def __post_init__(self) -> None:
        object.__setattr__(self, "delta", read_only("Corrective", "delta", self.delta, ("G", 3)))
        flat_points("Corrective", "delta", self.delta)

    @property
    def lengths(self) -> Float[np.ndarray, " G"]:
        """How far it moves each vertex, (G,), metres."""
        return np.linalg.norm(self.delta, axis=1)


def corrective_shift(
    correctives: Sequence[Corrective], skeleton: Skeleton, worlds: Float[np.ndarray, "J 4 4"]
) -> ClothPoints | None:
    """What correctives add where the joints stand at `worlds`, in the modelled pose, (G, 3); None where nothing."""
    values = [one.driver.at(skeleton, worlds) for one in correctives]
    moving = [value * one.delta for value, one in zip(values, correctives) if value > 0]
    return np.sum(moving, axis=0) if moving else None
