"""A round limb of two bones that bends at one joint, and a sleeve over it: at a bend all is known in closed form.

The limb lies along +Y, the joint at the origin. It bends about +X, so that its inner side is at z > 0.
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

RADIUS, HALF, RAMP = 0.045, 0.3, 0.2
GIRTH = 0.3
MORPHS = ("girth", "bulge")


def skeleton() -> Skeleton:
    """An upper bone from below the limb to the joint, and a lower one beyond it."""
    rest = np.tile(np.eye(4), (2, 1, 1))
    rest[0, 1, 3], rest[1, 1, 3] = -HALF, HALF
    bind = np.linalg.inv(np.array([rest[0], rest[0] @ rest[1]]))
    return Skeleton(("upper", "lower"), np.array([-1, 0]), rest, bind)


def weights_of(heights: np.ndarray, *, ramp: float = RAMP) -> Skin:
    """A linear ramp from one bone to the other, as long as `ramp`, around the joint."""
    share = np.clip(heights / ramp + 0.5, 0.0, 1.0)
    return Skin(np.tile([0, 1], (len(heights), 1)), np.stack([1.0 - share, share], axis=1))


def bent(degrees: float, name: str = "") -> Stance:
    """The lower bone turned about X, so that the limb closes towards z > 0."""
    half = np.radians(degrees) / 2
    worlds = turned_worlds(skeleton(), {"lower": (float(np.sin(half)), 0.0, 0.0, float(np.cos(half)))})
    return Stance(name or f"bent {degrees:g}°", worlds, "a test")


def wall(radius: float, low: float, high: float, *, rings: int, sides: int) -> tuple[np.ndarray, np.ndarray]:
    """An open tube around Y, outward."""
    turn = 2 * np.pi * np.arange(sides) / sides
    height = np.repeat(np.linspace(low, high, rings), sides)
    turns = np.tile(turn, rings)
    vertices = np.stack([radius * np.sin(turns), height, radius * np.cos(turns)], axis=1)
    lower = (np.arange(rings - 1)[:, None] * sides + np.arange(sides)).ravel()
    after = (np.arange(rings - 1)[:, None] * sides + (np.arange(sides) + 1) % sides).ravel()
    return vertices, np.vstack(
        [np.stack([lower, after, after + sides], 1), np.stack([lower, after + sides, lower + sides], 1)]
    )


def limb(*, ramp: float = RAMP, rings: int = 49, sides: int = 24) -> Body:
    """The limb, closed at both ends; one morph makes it thicker, one bulges it on the inner side below the joint."""
    vertices, faces = wall(RADIUS, -HALF, HALF, rings=rings, sides=sides)
    ends = np.array([[0.0, -HALF, 0.0], [0.0, HALF, 0.0]])
    around, last = np.arange(sides), (rings - 1) * sides
    caps = [
        np.stack([np.full(sides, len(vertices)), (around + 1) % sides, around], 1),
        np.stack([np.full(sides, len(vertices) + 1), last + around, last + (around + 1) % sides], 1),
    ]
    vertices, faces = np.vstack([vertices, ends]), np.vstack([faces, *caps])
    skin = weights_of(vertices[:, 1], ramp=ramp)
    return Body("limb", vertices, faces, MORPHS, moved(vertices), Range.unit(MORPHS), skeleton=skeleton(), skin=skin)


def moved(vertices: np.ndarray) -> np.ndarray:
    """What the morphs add at any place: the same for skin and cloth."""
    girth = GIRTH * vertices * np.array([1.0, 0.0, 1.0])
    level = np.exp(-(((vertices[:, 1] - 0.1) / 0.04) ** 2)) * np.clip(vertices[:, 2] / RADIUS, 0, None)
    return np.stack([girth, 0.01 * level[:, None] * np.array([0.0, 0.0, 1.0])])


def sleeve(
    body: Body, *, clearance: float = 0.006, half: float = 0.2, ramp: float = RAMP, rings: int = 33, sides: int = 24,
    follows: float = 1.0,
) -> Fit:  # fmt: skip
    """A sleeve at a clearance over the joint, with a ramp of its own, that follows the morphs to a share."""
    vertices, faces = wall(RADIUS + clearance, -half, half, rings=rings, sides=sides)
    garment = Garment.of("sleeve", vertices, faces)
    skin = weights_of(vertices[:, 1], ramp=ramp)
    return Fit(body, garment, Following(), vertices, follows * moved(vertices), skin)
