"""Clogs: hard wooden shoes, one closed shell for each foot, longer than the toes and turned up at the tip."""

from dataclasses import dataclass

import numpy as np

from dressform.arrays import Points, VertexScalars
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.hull import Tube
from dressform.demo.tailor.lines import Vector, beyond, fade, smooth_least, smooth_most
from dressform.demo.tailor.nets import Samples, zero_surface
from dressform.demo.tailor.settle import evened, settled
from dressform.demo.tailor.wearer import SIDES, Wearer

PARTS = ("clog left", "clog right")
ROOM = 0.005  # between foot and wood, metres
WOOD = 0.0115  # thickness
SOLE = 0.020
HEEL = 0.010  # how much lower the heel block reaches
HEEL_SHARE = 0.3  # share of the foot's length that stands on it
BEYOND_TOES = 0.04
BENT = 0.25  # share of the foot's length, from the toes back, over which the tip is drawn out and lifted
TIP_RISE = 0.028
TIP_POINT, HEEL_ROUND = 0.08, 0.045
RIM = 0.052  # height of the opening's edge at the heel
VAMP = 0.54  # share of the foot's length, from the toes, that the upper covers
ANKLE = 0.1  # what is higher above the floor is leg
EDGE = 0.0075
UP = np.array([0.0, 1.0, 0.0])


def clogs(wearer: Wearer) -> Cloth:
    """Both clogs, two closed pieces."""
    left, right = (_clog(wearer, side).as_part(part) for part, side in enumerate(SIDES))
    return left.joined(right)


@dataclass(frozen=True)
class _Foot:
    """What a clog is carved round.

    Attributes:
        heel: Rearmost place, on the floor.
        forward: Level direction to the toes.
        length: Of the foot, metres.
        sections: Of the foot, along its length.
    """

    heel: Vector
    forward: Vector
    length: float
    sections: Tube

    @classmethod
    def of(cls, skin: Points) -> "_Foot":
        """The foot with this skin; its length lies in the direction in which its sole is longest."""
        sole = skin[skin[:, 1] < skin[:, 1].min() + 0.05]
        middle = sole.mean(axis=0)
        _, _, ways = np.linalg.svd((sole - middle)[:, [0, 2]], full_matrices=False)
        forward = np.array([ways[0][0], 0.0, ways[0][1]]) * np.sign(ways[0][1])
        reach = (sole - middle) @ forward
        on_floor = np.array([middle[0], skin[:, 1].min(), middle[2]])
        heel, toe = on_floor + reach.min() * forward, on_floor + reach.max() * forward
        tube = Tube.round_points(skin, heel, toe, front=UP).smoothed(along=0.008, round_=0.15)
        return cls(heel, forward, float(reach.max() - reach.min()), tube)

    def rounded(self, points: Points) -> VertexScalars:
        """Distance from the sections, drawn to a point at the toes and rounded at the heel."""
        along = (points - self.heel) @ self.forward
        sides = self.sections.distance(points)
        return smooth_most(smooth_most(sides, along - self.length, blend=TIP_POINT), -along, blend=HEEL_ROUND)

    def unbent(self, points: Points) -> tuple[Points, VertexScalars]:
        """Places before the tip was drawn out and lifted, and how far it was lifted there."""
        past = np.maximum((points - self.heel) @ self.forward - (1 - BENT) * self.length, 0.0)
        whole = BENT * self.length + BEYOND_TOES
        rise = TIP_RISE * (past / whole) ** 2
        return points - (past * BEYOND_TOES / whole)[:, None] * self.forward - rise[:, None] * UP, rise


def _clog(wearer: Wearer, side: str) -> Cloth:
    skin = wearer.skin_of((*wearer.foot(side), *wearer.leg(side)))
    skin = skin[skin[:, 1] < skin[:, 1].min() + ANKLE]
    foot = _Foot.of(skin)
    margin = ROOM + WOOD + 0.02
    low, high = skin.min(axis=0) - margin, skin.max(axis=0) + margin
    low[1] -= SOLE
    high[2] += BEYOND_TOES
    samples = Samples.of(lambda points: _wood(wearer, foot, points), low, high, spacing=EDGE)
    vertices, quads = zero_surface(samples)
    clog = Cloth.of_quads(samples.onto(vertices), quads).largest()
    clog = settled(clog, wearer.figure, clearance=0.7 * ROOM, rounds=5, keep_volume=True)
    clog = clog.cut(beyond(clog.vertices, foot.heel, np.cross(foot.forward, UP)))
    return evened(clog, wearer.figure, clearance=0.7 * ROOM)


def _wood(wearer: Wearer, foot: _Foot, points: Points) -> VertexScalars:
    """Negative in the wood: the block round the foot, less the foot's room, less the opening."""
    along, height = (points - foot.heel) @ foot.forward, points[:, 1] - foot.heel[1]
    skin = wearer.figure.distance(points)
    bent, rise = foot.unbent(points)
    upper = smooth_least(foot.rounded(bent), skin, blend=0.01)
    pressed = bent.copy()
    pressed[:, 1] = foot.heel[1] + 0.015
    block = smooth_most(foot.rounded(pressed), height - 0.02, blend=0.01)
    outer = smooth_least(upper, block, blend=0.015) - ROOM - WOOD
    instep = fade(along, HEEL_SHARE * foot.length, (HEEL_SHARE + 0.05) * foot.length)
    floor = -ROOM - SOLE - HEEL * (1 - instep) + rise
    outer = smooth_most(outer, floor - height, blend=0.008)
    above = height - RIM - 0.01 * fade(along, 0.15 * foot.length, 0.4 * foot.length)
    opening = smooth_least(above, (1 - VAMP) * foot.length - along + 0.3 * above, blend=0.03)
    return smooth_most(smooth_most(outer, opening, blend=0.008), ROOM - skin, blend=0.005)
