"""Joints turned from the pose that a body is modelled in, about axes of the body or of the joint.

The modelled pose is the bind pose, on which garments are cut; the nodes of a file may stand otherwise. Axes of the
body are X to its left, Y up, Z to its front. A turn happens where the joint is in the modelled pose, then the joints
above carry it along: so the turns of a stance do not depend on the order of the joints.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from jaxtyping import Float
from scipy.spatial.transform import Rotation

from dressform.body.skeleton import Skeleton
from dressform.errors import ArgumentError

Turn = Float[np.ndarray, "3 3"]
"""A rotation matrix, column vectors."""

AXES: dict[str, tuple[float, float, float]] = {
    "x": (1.0, 0.0, 0.0),
    "y": (0.0, 1.0, 0.0),
    "z": (0.0, 0.0, 1.0),
    "-x": (-1.0, 0.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
    "-z": (0.0, 0.0, -1.0),
}
"""Axes by name: of the body X left, Y up, Z front; of a joint its own."""
OPPOSITE = 1e-9
"""Directions whose cosine is nearer to -1 than this have no shortest turn; any half turn between them will do."""


def about(axis: Sequence[float | int] | Float[np.ndarray, "3"], degrees: float | int) -> Turn:
    """A turn about an axis by the right-hand rule.

    Raises:
        ArgumentError: the axis has no length, or a number is not finite.
    """
    direction = np.asarray(axis, dtype=np.float64)
    length = float(np.linalg.norm(direction))
    if not (np.isfinite(length) and length > 0 and np.isfinite(degrees)):
        raise ArgumentError.of("about", "axis", "finite and not zero", f"{list(axis)} by {degrees}", "Give x, y, z")
    return Rotation.from_rotvec(np.deg2rad(degrees) * direction / length).as_matrix()


def shortest(first: Float[np.ndarray, "3"], second: Float[np.ndarray, "3"]) -> Turn:
    """The smallest turn that carries one direction into another; none where one has no length."""
    lengths = np.linalg.norm(first) * np.linalg.norm(second)
    if lengths == 0:
        return np.eye(3)
    axis, cosine = np.cross(first, second) / lengths, float(first @ second / lengths)
    if cosine < -1 + OPPOSITE:
        across = np.cross(first, np.eye(3)[int(np.argmin(np.abs(first)))])
        return about(across, 180.0)
    sine = float(np.linalg.norm(axis))
    return about(axis, float(np.rad2deg(np.arctan2(sine, cosine)))) if sine > 0 else np.eye(3)


def mirrored(turn: Turn) -> Turn:
    """The turn as the other side of the body makes it: reflected in the plane between left and right."""
    flip = np.diag([-1.0, 1.0, 1.0])
    return flip @ turn @ flip


def modelled_worlds(skeleton: Skeleton) -> Float[np.ndarray, "J 4 4"]:
    """Joint-to-world transforms in the modelled pose, (J, 4, 4): every vertex stands where it was modelled."""
    return np.linalg.inv(skeleton.inverse_bind)


def modelled_locals(skeleton: Skeleton) -> Float[np.ndarray, "J 4 4"]:
    """Transform of each joint against its parent in the modelled pose, (J, 4, 4)."""
    return skeleton.local(modelled_worlds(skeleton))


def own_axes(world: Float[np.ndarray, "4 4"]) -> Turn:
    """How a joint's own axes stand in the world: the rotation nearest to its transform, without scale or shear."""
    left, _, right = np.linalg.svd(world[:3, :3])
    if np.linalg.det(left @ right) < 0:
        left[:, -1] = -left[:, -1]
    return left @ right


def turned_locals(
    skeleton: Skeleton, turns: Mapping[int, Turn], local: Float[np.ndarray, "J 4 4"]
) -> Float[np.ndarray, "J 4 4"]:
    """Local transforms after joints turned about axes of the body as modelled, (J, 4, 4).

    Args:
        skeleton: Gives the modelled pose.
        turns: By joint; those that are not named stay.
        local: What they start from; sliders that move joints may have changed it.
    """
    worlds, turned = modelled_worlds(skeleton), local.copy()
    for joint, turn in turns.items():
        axes = own_axes(worlds[joint])
        turned[joint, :3, :3] = turned[joint, :3, :3] @ _after(turned[joint], axes.T @ turn @ axes)
    return turned


def _after(local: Float[np.ndarray, "4 4"], turn: Turn) -> Float[np.ndarray, "3 3"]:
    """What to multiply a local transform by so that it turns, and its scale stays that of its own axes [glTF2 3.5.3].

    A node is rotation, then scale: R S. Turned by Q about its own axes it is R Q S, which is (R S) (S⁻¹ Q S).
    """
    scale = np.linalg.norm(local[:3, :3], axis=0)
    return turn * scale[None, :] / scale[:, None]


def worlds_of(skeleton: Skeleton, turns: Mapping[int, Turn]) -> Float[np.ndarray, "J 4 4"]:
    """Joint-to-world transforms after joints turned from the modelled pose about axes of the body, (J, 4, 4).

    Proof: tests/body/stances/test_turns.py
    """
    return skeleton.world(turned_locals(skeleton, turns, modelled_locals(skeleton)))
