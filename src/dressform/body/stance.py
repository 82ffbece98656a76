"""Stances: ways for a body to stand. At a fixed stance, posed vertices are affine in the weights."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skeleton, Skin
from dressform.errors import ArgumentError, MatchError
from dressform.mesh.flat import read_only

AS_MODELLED = "as modelled"
"""The pose of a stance in which only sliders move joints."""


@dataclass(frozen=True, eq=False)
class Stance:
    """A way to stand: where each joint of a skeleton is, by a pose and by sliders that move joints.

    Attributes:
        name: What a person reads; no other stance of a check has it.
        worlds: Joint-to-world transforms, metres, (J, 4, 4), column vectors.
        origin: Where it comes from, in words: a file, a moment of an animation, a table of joint motion.
        pose: Name of the pose alone, which stances with other values of the sliders share; the name where left out.
        sliders: Values of the sliders that move joints; those at 0 are left out.
        still: The transforms of the pose with every slider at 0, (J, 4, 4); `worlds` where no slider is moved.

    Raises:
        ArgumentError: `worlds` is of another shape, or not finite.
    """

    name: str
    worlds: Float[np.ndarray, "J 4 4"]
    origin: str = ""
    pose: str = ""
    sliders: Mapping[str, float] = field(default_factory=dict)
    still: Float[np.ndarray, "J 4 4"] | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "pose", self.pose or self.name)
        object.__setattr__(self, "sliders", {name: float(one) for name, one in self.sliders.items()})
        object.__setattr__(self, "worlds", read_only("Stance", "worlds", self.worlds, ("J", 4, 4)))
        if not np.isfinite(self.worlds).all():
            raise ArgumentError.of("Stance", "worlds", "finite", f"some of {self.name!r} that are not", "Give numbers")
        if self.still is not None:
            object.__setattr__(self, "still", read_only("Stance", "still", self.still, ("J", 4, 4)))

    def maps(self, skin: Skin, skeleton: Skeleton) -> Float[np.ndarray, "V 3 4"]:
        """The affine map that carries each vertex of `skin` from the rest pose to this stance, (V, 3, 4), metres.

        It is the blend of the joints' transforms by the vertex's joint weights [glTF2 3.7.3.3], so it does not depend
        on the morphs: the posed mesh is affine in their weights.

        Raises:
            MatchError: the skeleton has another number of joints.
        """
        if len(self.worlds) != len(skeleton.names):
            raise MatchError(
                f"Stance.maps: `skeleton` must have the {len(self.worlds)} joints of the stance {self.name!r}, "
                f"got {len(skeleton.names)}. Use the skeleton that the stance was made for."
            )
        transforms = self.worlds @ skeleton.inverse_bind
        return np.einsum("vn,vnij->vij", skin.weights, transforms[skin.joints][:, :, :3])


def carry(maps: Float[np.ndarray, "V 3 4"], points: Float[np.ndarray, "V 3"]) -> Float[np.ndarray, "V 3"]:
    """Points under one affine map each, (V, 3), metres."""
    return np.einsum("vij,vj->vi", maps[:, :, :3], points) + maps[:, :, 3]
