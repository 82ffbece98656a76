"""What sets the weight of a corrective target: how far one joint has turned about one axis."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float
from scipy.spatial.transform import Rotation

from dressform.body.skeleton import Skeleton
from dressform.body.stances.turns import modelled_locals, own_axes
from dressform.errors import ArgumentError, MatchError
from dressform.mesh.flat import read_only

UNIT = 1e-6
"""What the length of an axis or a quaternion may differ from 1."""

Quaternion = Float[np.ndarray, "4"]
"""A rotation as x, y, z, w."""


@dataclass(frozen=True, eq=False)
class Driver:
    """The turn of a joint from the modelled pose about one of its own axes, and what it sets.

    With q the rotation of the joint's node and b that of the modelled pose, p = b⁻¹ q = (p_v, p_w) taken with
    p_w ≥ 0, the angle is φ = 2 atan2(p_v · axis, p_w). The value goes straight from knot to knot and stays beyond.

    Attributes:
        joint: Index of the joint; it has a parent.
        axis: Unit vector in the joint's own axes, (3,).
        bind: Rotation of its node in the modelled pose, a unit quaternion x, y, z, w, (4,).
        knots: Angle, radians, and value, 0 to 1, in rising order of angles.

    Raises:
        ArgumentError: an axis or quaternion is not of length 1, or the knots do not rise or leave 0 to 1.

    Source: the twist of a quaternion about an axis. Proof: tests/body/stances/test_driver.py
    """

    joint: int
    axis: Float[np.ndarray, "3"]
    bind: Quaternion
    knots: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        for name, width in (("axis", 3), ("bind", 4)):
            value = read_only("Driver", name, getattr(self, name), (width,))
            object.__setattr__(self, name, value)
            if not abs(np.linalg.norm(value) - 1) < UNIT:
                raise ArgumentError.of("Driver", name, "of length 1", value.tolist(), "Divide it by its length")
        angles, values = np.array(self.knots, dtype=np.float64).reshape(-1, 2).T
        if not len(angles) or not np.isfinite(angles).all() or (np.diff(angles) <= 0).any():
            raise ArgumentError.of("Driver", "knots", "at angles that rise", angles.tolist(), "Sort them by angle")
        if not ((values >= 0) & (values <= 1)).all():
            raise ArgumentError.of("Driver", "knots", "of values from 0 to 1", values.tolist(), "Scale the target")

    @property
    def slope(self) -> float:
        """The most that the value changes per radian."""
        angles, values = np.array(self.knots).T
        return float(np.abs(np.diff(values) / np.diff(angles)).max(initial=0.0))

    def value(self, angle: float) -> float:
        """The weight of the target at an angle, radians."""
        return float(np.interp(angle, *np.array(self.knots).T))

    def most_change(self, angle: float, reach: float) -> float:
        """The most that the value differs from that at `angle` within `reach` radians on either side."""
        inner = [at for at, _ in self.knots if abs(at - angle) < reach]
        here = self.value(angle)
        return max(abs(self.value(at) - here) for at in (angle - reach, angle + reach, *inner))

    def twist(self, skeleton: Skeleton, worlds: Float[np.ndarray, "J 4 4"]) -> tuple[float, float]:
        """The angle, radians, and how well it is defined: the length of the twist quaternion, 0 to 1."""
        turned = Rotation.from_quat(self.bind).inv() * Rotation.from_quat(local_turn(skeleton, worlds, self.joint))
        quaternion = turned.as_quat()
        along, real = float(quaternion[:3] @ self.axis), float(quaternion[3])
        sign = -1.0 if real < 0 else 1.0
        return 2.0 * float(np.arctan2(sign * along, sign * real)), float(np.hypot(along, real))

    def at(self, skeleton: Skeleton, worlds: Float[np.ndarray, "J 4 4"]) -> float:
        """The weight of the target where the joints stand at `worlds`."""
        return self.value(self.twist(skeleton, worlds)[0])


def local_turn(skeleton: Skeleton, worlds: Float[np.ndarray, "J 4 4"], joint: int) -> Quaternion:
    """Rotation of a joint's node against its parent, scale left out, as a quaternion x, y, z, w, (4,).

    Raises:
        MatchError: the joint has no parent, or `worlds` is of another skeleton.
    """
    if len(worlds) != len(skeleton.names) or skeleton.parents[joint] < 0:
        raise MatchError(
            f"local_turn: `joint` must have a parent among the {len(worlds)} joints of the stance, got "
            f"{skeleton.names[joint]!r} of {len(skeleton.names)}. Choose a joint below another one."
        )
    return _quaternion(np.linalg.solve(worlds[skeleton.parents[joint]], worlds[joint]))


def modelled_turn(skeleton: Skeleton, joint: int) -> Quaternion:
    """The same in the modelled pose, (4,)."""
    return _quaternion(modelled_locals(skeleton)[joint])


def _quaternion(local: Float[np.ndarray, "4 4"]) -> Quaternion:
    found: Quaternion = Rotation.from_matrix(own_axes(local)).as_quat()
    return found
