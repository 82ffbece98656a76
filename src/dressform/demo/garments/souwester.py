"""The sou'wester: a close crown and a brim that is short at the front and long at the back, to shed water."""

import numpy as np

from dressform.arrays import Points, VertexScalars
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.lines import Vector, beyond, fade, unit
from dressform.demo.tailor.nets import Samples, zero_surface
from dressform.demo.tailor.settle import evened, settled
from dressform.demo.tailor.wearer import HEAD, Wearer

PARTS = ("crown", "brim")
CROWN, BRIM = range(2)
ROOM = 0.011
SHARE_OF_HEAD = 0.62  # height of the rim at the front, from chin to crown
TILT = 0.2  # how much lower the rim lies at the back, metres a metre
BRIM_FRONT, BRIM_SIDE, BRIM_BACK = 0.05, 0.065, 0.125
DROP_FRONT, DROP_SIDE, DROP_BACK = 0.15, 0.75, 0.85  # slope of the brim, metres down a metre out
ROLL = 0.01  # how far the front edge turns up
ROWS = 6
EDGE = 0.0125


def souwester(wearer: Wearer) -> Cloth:
    """The hat as one sheet with one opening."""
    crown, middle, way = _crown(wearer)
    loop = crown.loops()[0]
    hat = crown.with_rings(loop, _brim(crown.vertices[loop], way), part=BRIM)
    hat = settled(hat, None, rounds=8, keep_volume=True)
    for across in (0, 2):
        hat = hat.cut(hat.vertices[:, across] - middle[across])
    return evened(hat, None)


def _crown(wearer: Wearer) -> tuple[Cloth, Vector, Vector]:
    head = wearer.vertices[wearer.owned(HEAD)]
    chin, top = float(wearer.joint("head")[1]), float(head[:, 1].max())
    front = head[head[:, 1] > chin]
    middle = np.array([0.0, chin + SHARE_OF_HEAD * (top - chin), (front[:, 2].min() + front[:, 2].max()) / 2])
    way = unit(np.array([0.0, 1.0, -TILT]))
    low, high = head.min(axis=0) - 0.05, head.max(axis=0) + 0.05
    low[1] = middle[1] - 0.09
    samples = Samples.of(lambda p: wearer.figure.distance(p) - ROOM, low, high, spacing=EDGE)
    vertices, quads = zero_surface(samples)
    crown = Cloth.of_quads(samples.onto(vertices), quads).largest()
    crown = settled(crown, wearer.figure, clearance=ROOM, rounds=30)
    crown = crown.trimmed(-beyond(crown.vertices, middle, way)).largest()
    return settled(crown, wearer.figure, clearance=ROOM, rounds=5), middle, way


def _brim(rim: Points, way: Vector) -> list[Points]:
    middle = rim.mean(axis=0)
    outward = rim - middle
    outward -= (outward @ way)[:, None] * way
    outward /= np.linalg.norm(outward, axis=1, keepdims=True)
    facing = outward[:, 2]  # 1 at the front, -1 at the back
    width, drop = _between(facing, BRIM_FRONT, BRIM_SIDE, BRIM_BACK), _between(facing, DROP_FRONT, DROP_SIDE, DROP_BACK)
    shares = np.arange(1, ROWS + 1) / ROWS
    rings = []
    for share, slope in zip(shares, fade(shares, -0.3, 0.5)):
        rise = ROLL * fade(facing, 0.2, 0.9) * share * share - drop * width * share * slope
        rings.append(rim + (width * share)[:, None] * outward + rise[:, None] * way)
    return rings


def _between(facing: VertexScalars, front: float, side: float, back: float) -> VertexScalars:
    """A value that goes smoothly from the front over the sides to the back."""
    return np.where(
        facing > 0, side + (front - side) * fade(facing, 0.0, 1.0), side + (back - side) * fade(facing, 0.0, -1.0)
    )
