"""The tree of a skeleton's joints: ways between them, where they stand in the modelled pose."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float

from dressform.body.skeleton import Skeleton
from dressform.body.stances.names import is_end, is_helper
from dressform.body.stances.turns import modelled_worlds

Place = Float[np.ndarray, "3"]


@dataclass(frozen=True)
class JointTree:
    """Joints with their places in the modelled pose.

    Attributes:
        skeleton: The joints.
        carries: Whether a joint carries skin, by joint, (J,).
    """

    skeleton: Skeleton
    carries: Bool[np.ndarray, " J"]

    @cached_property
    def places(self) -> Float[np.ndarray, "J 3"]:
        """Where the joints stand, metres, (J, 3)."""
        return modelled_worlds(self.skeleton)[:, :3, 3]

    @cached_property
    def children(self) -> tuple[tuple[int, ...], ...]:
        """Joints below each joint."""
        found: list[list[int]] = [[] for _ in self.skeleton.names]
        for joint, parent in enumerate(self.skeleton.parents):
            if parent >= 0:
                found[int(parent)].append(joint)
        return tuple(tuple(below) for below in found)

    @cached_property
    def leaves(self) -> tuple[int, ...]:
        """Joints without any below them."""
        return tuple(joint for joint, below in enumerate(self.children) if not below)

    def above(self, joint: int) -> list[int]:
        """A joint and all above it, from itself to its root."""
        way = [joint]
        while self.skeleton.parents[way[-1]] >= 0:
            way.append(int(self.skeleton.parents[way[-1]]))
        return way

    def meeting(self, first: int, second: int) -> int | None:
        """The lowest joint above both, or None where they hang from different roots."""
        ways = set(self.above(second))
        return next((joint for joint in self.above(first) if joint in ways), None)

    def way(self, top: int, bottom: int) -> list[int]:
        """Joints from below `top` down to `bottom`, that one included; empty where it does not hang from `top`."""
        up = self.above(bottom)
        return up[: up.index(top)][::-1] if top in up else []

    def own(self, joints: Sequence[int]) -> list[int]:
        """Of joints of a chain those that are a body's own: no helpers, and no mere ends."""
        names = self.skeleton.names
        return [
            one
            for one in joints
            if not is_helper(names[one])
            and not (not self.children[one] and (is_end(names[one]) or not self.carries[one]))
        ]
