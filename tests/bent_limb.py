"""The limb of `limbs.py` with a long ramp of joint weights, morphs that cloth follows exactly, and a fit over it.

One phantom, two settings: here no bend below 131° folds the skin, so that proofs and repairs have something to hold;
there a short ramp folds early, so that faults have something to find.
"""

import numpy as np

import limbs
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment

RADIUS, HALF, RAMP = limbs.RADIUS, 0.3, 0.2
GIRTH = 0.3
MORPHS = ("girth", "bulge")
JOINTS = ("upper", "lower")


def skeleton() -> Skeleton:
    """An upper bone from below the limb to the joint, and a lower one beyond it."""
    return limbs.skeleton(HALF, names=JOINTS)


def weights_of(heights: np.ndarray, *, ramp: float = RAMP) -> Skin:
    """A linear ramp from one bone to the other, as long as `ramp`, around the joint."""
    return limbs.ramp_weights(heights, ramp)


def bent(degrees: float, name: str = "") -> Stance:
    """The lower bone turned about X, so that the limb closes towards z > 0."""
    return limbs.bend(degrees, name=name, of=skeleton())


def wall(radius: float, low: float, high: float, *, rings: int, sides: int) -> tuple[np.ndarray, np.ndarray]:
    """An open tube around Y, outward."""
    vertices, faces = limbs.rings(radius, (high - low) / 2, along=rings, around=sides)
    return vertices + np.array([0.0, (low + high) / 2, 0.0]), faces


def limb(*, ramp: float = RAMP, rings: int = 49, sides: int = 24) -> Body:
    """The limb, closed at both ends; one morph makes it thicker, one bulges it on the inner side below the joint."""
    vertices, faces = limbs.closed_rings(RADIUS, HALF, along=rings, around=sides)
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
