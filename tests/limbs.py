"""A limb bent at one joint, and a sleeve on it: everything about them at a stance has a closed form.

The limb is a cylinder about +Y that the joint at height 0 bends about +X, so that +Z is the inside of the bend for
positive angles. Joint weights rise linearly over `ramp` metres about the joint.
"""

import numpy as np

from dressform.body.body import Body
from dressform.body.pose import turned_worlds
from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment

RADIUS, REACH, RAMP, CLEARANCE = 0.045, 0.25, 0.06, 0.008
MORPHS = ("thick", "elbow")
THICK, ELBOW = 0.3, 0.01


def skeleton(reach: float = REACH, *, names: tuple[str, str] = ("upper", "fore")) -> Skeleton:
    """An upper joint at the lower end of the limb and the bending one at the origin."""
    rest = np.tile(np.eye(4), (2, 1, 1))
    rest[0, 1, 3], rest[1, 1, 3] = -reach, reach
    world = rest.copy()
    world[1] = rest[0] @ rest[1]
    return Skeleton(names, np.array([-1, 0]), rest, np.linalg.inv(world))


def bend(degrees: float, *, name: str = "", of: Skeleton | None = None) -> Stance:
    """The second joint turned about +X."""
    half, joints = np.deg2rad(degrees) / 2, skeleton() if of is None else of
    turn = [float(np.sin(half)), 0.0, 0.0, float(np.cos(half))]
    return Stance(name or f"bent {degrees:g}°", turned_worlds(joints, {joints.names[1]: turn}), "a test")


def ramp_weights(heights: np.ndarray, ramp: float = RAMP) -> Skin:
    """Joint weights that rise linearly from the one joint to the other."""
    fore = np.clip(0.5 + heights / ramp, 0.0, 1.0)
    return Skin(np.tile([0, 1], (len(heights), 1)), np.stack([1.0 - fore, fore], axis=1))


def rings(radius: float, reach: float, *, along: int, around: int) -> tuple[np.ndarray, np.ndarray]:
    """An open cylinder about +Y, outward: vertices ring by ring from below, and triangles."""
    turn = 2 * np.pi * np.arange(around) / around
    heights = np.linspace(-reach, reach, along)
    x, z = (np.tile(radius * wave(turn), (along, 1)) for wave in (np.sin, np.cos))
    vertices = np.stack([x, np.tile(heights[:, None], (1, around)), z], axis=-1).reshape(-1, 3)
    lower = (np.arange(along - 1)[:, None] * around + np.arange(around)).ravel()
    after = (np.arange(along - 1)[:, None] * around + (np.arange(around) + 1) % around).ravel()
    up = np.stack([lower, after, after + around], axis=1)
    down = np.stack([lower, after + around, lower + around], axis=1)
    return vertices, np.vstack([up, down])


def closed_rings(radius: float, reach: float, *, along: int, around: int) -> tuple[np.ndarray, np.ndarray]:
    """The same closed by a fan at each end; the two middles come last."""
    wall, faces = rings(radius, reach, along=along, around=around)
    first, after, top = np.arange(around), (np.arange(around) + 1) % around, (along - 1) * around
    bottom_fan = np.stack([np.full(around, len(wall)), after, first], axis=1)
    top_fan = np.stack([np.full(around, len(wall) + 1), top + first, top + after], axis=1)
    vertices = np.vstack([wall, [[0.0, -reach, 0.0], [0.0, reach, 0.0]]])
    return vertices, np.vstack([faces, bottom_fan, top_fan])


def limb(*, along: int = 61, around: int = 40, ramp: float = RAMP) -> Body:
    """The limb with two morphs: thicker as a whole, and thicker at the joint."""
    vertices, faces = closed_rings(RADIUS, REACH, along=along, around=around)
    across = vertices * [1.0, 0.0, 1.0]
    near = np.exp(-((vertices[:, 1] / 0.06) ** 2))[:, None]
    deltas = np.stack([THICK * across, ELBOW * near * across / RADIUS])
    return Body(
        "limb", vertices, faces, MORPHS, deltas, Range.unit(MORPHS), skeleton(),
        ramp_weights(vertices[:, 1], ramp), {"limb": np.ones(len(vertices), dtype=bool)},
    )  # fmt: skip


def sleeve(*, clearance: float = CLEARANCE, reach: float = 0.18, along: int = 73, around: int = 48) -> Garment:
    """A sleeve at an even distance from the limb."""
    return Garment.of("sleeve", *rings(RADIUS + clearance, reach, along=along, around=around))


def sleeved(body: Body, garment: Garment, *, follows: float = 1.0, skin: Skin | None = None, ramp: float = RAMP) -> Fit:
    """The sleeve on the limb, moved exactly as far as the skin beneath it times `follows`, with the limb's weights."""
    points = garment.vertices
    radius = np.linalg.norm(points[:, [0, 2]], axis=1)
    outward = points * [1.0, 0.0, 1.0] / radius[:, None]
    near = np.exp(-((points[:, 1] / 0.06) ** 2))[:, None]
    deltas = follows * np.stack([THICK * RADIUS * outward, ELBOW * near * outward])
    weights = ramp_weights(points[:, 1], ramp) if skin is None else skin
    return Fit(body, garment, Following(), points, deltas, weights)


def about(skeleton: Skeleton, name: str, turns: dict[str, tuple[tuple[float, float, float], float]]) -> Stance:
    """A stance of joints turned about axes of the body at rest, in degrees."""
    worlds, quaternions = skeleton.world(), {}
    for joint, (axis, degrees) in turns.items():
        own = worlds[skeleton.names.index(joint)][:3, :3].T @ np.array(axis)
        half = np.deg2rad(degrees) / 2
        quaternions[joint] = [*(np.sin(half) * own / np.linalg.norm(own)), float(np.cos(half))]
    return Stance(name, turned_worlds(skeleton, quaternions))
