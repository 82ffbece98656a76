"""How a mesh stands in its file, if it is a person: which axis is up, and where it faces.

A standing person shows it by the skin alone: two legs that stand apart at one end, one head in the middle of the
other, and feet that reach further to the front than the ankles. A torso or a robe shows nothing, nor does a garment.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.arrays import Faces, Points
from dressform.body.body import Body
from dressform.body.measure_shells import has_head
from dressform.errors import FileError
from dressform.formats.frames.units import (
    STANDARD_FRONT,
    STANDARD_UP,
    UPS,
    Frame,
)
from dressform.mesh.geometry import face_areas

STOCKY = 0.4
"""What is at least this deep and wide for its height is no standing person, but may be a head."""

SAMPLES = 6000
SHINS = (0.02, 0.15)
"""Between these heights the two legs stand apart, of stature."""

BETWEEN_LEGS, FEW_BETWEEN = 0.012, 0.002
"""So near to the middle between them, of stature, lies less than this share of the legs."""

FARTHEST_LEG = 0.3
"""Legs are nearer to that middle than this, of stature."""

HEAD_FROM, HEAD_OUT = 0.92, 0.1
"""Above this height the surface is on average nearer to its middle than this, of stature."""

HEAD_MIDDLE, MIN_MIDDLE = 0.03, 0.1
"""At least this share of it lies so near to that middle, of stature: a pair of anything has nothing there."""

FARTHEST_HEAD = 0.12
"""The head stands no farther to one side of the legs than this, of stature."""

EVEN = (0.35, 0.65)
"""Between these shares of the legs lie on the left: 0.48 to 0.52 on six bodies measured."""

FOOT_HEIGHT = 0.03
ANKLE_HEIGHTS = (0.05, 0.09)
CLEARLY_AHEAD = 0.02
"""The middle of the feet lies this much further ahead than that of the ankles, of stature: 0.036 to 0.048 on five."""


@dataclass(frozen=True)
class Stand:
    """One way in which a mesh may stand like a person.

    Attributes:
        up: Axis of the file that points up.
        front: Axis that the front points to once +Y is up.
        sees_front: Whether the feet tell the front; else only the line on which it lies is known.
    """

    up: str
    front: str
    sees_front: bool


def find_stands(vertices: Points, faces: Faces, ups: Iterable[str] = UPS) -> tuple[Stand, ...]:
    """Every way in which the mesh stands like a person, of any size: none without evidence, one for most bodies.

    Args:
        vertices: As stored, in any units and axes, (V, 3).
        faces: (F, 3).
        ups: Axes that may point up.

    Proof: tests/formats/test_standing.py::test_a_person_is_read_right_from_every_axis_and_unit
    """
    points = _samples(vertices, faces)
    found = (_stand(points, up, front) for up in ups for front in (STANDARD_FRONT, "x"))
    return tuple(stand for stand in found if stand is not None)


def is_person(vertices: Points, faces: Faces, ups: Iterable[str] = (STANDARD_UP,)) -> bool:
    """Whether the mesh stands like a person and has a head above a neck, as no garment but a hooded suit does."""
    stands = find_stands(vertices, faces, ups)
    return any(has_head(vertices @ Frame(1.0, one.up, (), one.front).linear.T, faces) for one in stands)


def refuse_swapped(path: object, vertices: Points, faces: Faces, body: Body) -> None:
    """Refuse a garment that is a person, on a body that is none.

    Args:
        path: The garment's file, for the message.
        vertices: The garment as stored, (V, 3).
        faces: (F, 3).
        body: What it is worn on.

    Raises:
        FileError: they are swapped.
    """
    if is_person(vertices, faces, UPS) and not is_person(body.vertices, body.faces):
        problem = f"stands like a person, and the body {body.name!r} does not: they are swapped"
        raise FileError.of(path, "garment", problem, "Give the person with --body, and the cloth as the garment")


def _samples(vertices: Points, faces: Faces) -> Float[np.ndarray, "S 3"]:
    """Points spread evenly over the area."""
    reach = np.cumsum(face_areas(vertices, faces))
    chosen = faces[np.searchsorted(reach, (np.arange(SAMPLES) + 0.5) / SAMPLES * reach[-1])]
    shares = np.random.default_rng(0).dirichlet(np.ones(3), SAMPLES)
    return np.einsum("sc,scx->sx", shares, vertices[chosen])


def _stand(points: Float[np.ndarray, "S 3"], up: str, front: str) -> Stand | None:
    """Whether the points stand like a person with this axis up and facing along this one, either way."""
    turned = points @ Frame(1.0, up, (), front).linear.T
    low, high = turned.min(axis=0), turned.max(axis=0)
    stature = high[1] - low[1]
    if not stature > 0.0:
        return None
    height = (turned[:, 1] - low[1]) / stature
    side = turned[:, 0] / stature
    legs, head = side[(height > SHINS[0]) & (height < SHINS[1])], side[height > HEAD_FROM]
    if not (legs.size and head.size):
        return None
    between, above = ((part.min() + part.max()) / 2 for part in (legs, head))
    legs, head, lean = legs - between, head - above, above - between
    apart = np.mean(np.abs(legs) < BETWEEN_LEGS) < FEW_BETWEEN and legs.max() < FARTHEST_LEG
    even = EVEN[0] < np.mean(legs > 0) < EVEN[1]
    headed = np.abs(head).mean() < HEAD_OUT and np.mean(np.abs(head) < HEAD_MIDDLE) > MIN_MIDDLE
    if not (apart and even and headed and abs(lean) < FARTHEST_HEAD):
        return None
    ahead = _feet_ahead(height, turned[:, 2]) / stature
    if abs(ahead) < CLEARLY_AHEAD:
        return Stand(up, front, False)
    return Stand(up, front if ahead > 0 else _opposite(front), True)


def _feet_ahead(height: Float[np.ndarray, " S"], depth: Float[np.ndarray, " S"]) -> float:
    """How much further ahead the middle of the feet lies than that of the ankles."""
    foot = depth[height < FOOT_HEIGHT]
    ankle = depth[(height > ANKLE_HEIGHTS[0]) & (height < ANKLE_HEIGHTS[1])]
    if not (foot.size and ankle.size):
        return 0.0
    return float(foot.min() + foot.max() - ankle.min() - ankle.max()) / 2


def _opposite(axis: str) -> str:
    return axis[1:] if axis.startswith("-") else f"-{axis}"
