"""The guernsey: a close knitted jersey with ribbed hem, cuffs and stand collar."""

import numpy as np
from jaxtyping import Bool

from dressform.arrays import Points, VertexScalars
from dressform.demo.tailor.bridging import bridged_trunk
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.coarse import coarsened
from dressform.demo.tailor.lines import fade, smooth_least
from dressform.demo.tailor.nets import Samples, zero_surface
from dressform.demo.tailor.openings import Neck, armhole, cuff, side_line
from dressform.demo.tailor.settle import cleared, evened, settled
from dressform.demo.tailor.wearer import SIDES, Wearer

PARTS = ("knit", "rib")
KNIT, RIB = range(2)
BRIDGE_CLOSER = 0.001  # how much closer than elsewhere the jersey lies where it spans a hollow
ROOM = 0.0135  # clearance, metres: 2π·1.35 cm = 8.5 cm of ease, between a close block's and a jacket's
RIB_ROOM = 0.007
HEM_ROOM = 0.0125
HEM_ABOVE_HIP = 0.028
HEM_RIB = 0.06
COLLAR = 0.002  # height of the collar above the middle of the neck
COLLAR_SLACK = 0.016  # the collar starts where the pipe round the neck that much wider leaves the shoulders
CUFF_AT = 0.96  # share of the forearm
CUFF_RIB = 0.26  # share of the forearm that the cuff takes
EDGE = 0.016
COARSE_EDGE = 0.078
LEVEL_EDGE = 0.03  # no edge of the coarser level is shorter, seams and openings apart, metres
COARSE_MARGIN = 0.0015  # that even the middles of its long triangles keep at the base, metres
BELLY_HALF = 0.15
TIGHT_ROOM = 0.0015
TIGHT_INSIDE = 0.0045
TIGHT_REACH = 0.06
PASSES = 6


def guernsey(wearer: Wearer) -> Cloth:
    """The jersey as one sheet with four openings."""
    neck, hem = Neck(wearer), float(wearer.joint("thigh_l")[1]) + HEM_ABOVE_HIP

    def clearance(points: Points) -> VertexScalars:
        tight = RIB_ROOM + (HEM_ROOM - RIB_ROOM) * (points[:, 1] < hem + 2 * HEM_RIB)
        return ROOM + (tight - ROOM) * _ribbed(wearer, neck, hem, points)

    low, high = _box(wearer, neck, hem)
    trunk = bridged_trunk(wearer, low=hem)

    def field(points: Points) -> VertexScalars:
        skin = wearer.figure.distance(points) - clearance(points)
        return smooth_least(skin, trunk.capped(points) - ROOM + BRIDGE_CLOSER, blend=0.02)

    samples = Samples.of(field, low, high, spacing=EDGE)
    vertices, quads = zero_surface(samples)
    cloth = Cloth.of_quads(samples.onto(vertices), quads).largest()
    for _ in range(PASSES):
        cloth = settled(cloth, wearer.figure, clearance=clearance(cloth.vertices), rounds=6)
    cloth = cloth.trimmed(hem - cloth.vertices[:, 1])
    cloth = cloth.trimmed(neck.above(cloth.vertices, COLLAR))
    for side in SIDES:
        cloth = cloth.trimmed(cuff(wearer, side, cloth.vertices, along=CUFF_AT))
    cloth = settled(cloth.largest(), None, rounds=4, keep_volume=True)
    cloth = _seamed(wearer, neck, hem, cloth)
    return evened(cloth, wearer.figure, clearance=clearance(cloth.vertices))


def coarse_guernsey(wearer: Wearer) -> Cloth:
    """The jersey with too few vertices over the belly: clear of the base body, not of a bent one."""
    cloth = guernsey(wearer)
    coarse = coarsened(cloth, over_belly(wearer, cloth.vertices), edge=COARSE_EDGE)
    return cleared(coarse, wearer.figure, margin=COARSE_MARGIN, min_edge=2 * EDGE)


def guernsey_level(wearer: Wearer) -> Cloth:
    """The jersey's next coarser level of detail: a quarter of its vertices, everywhere."""
    cloth = guernsey(wearer)
    coarse = coarsened(cloth, np.ones(len(cloth.vertices), dtype=bool), edge=LEVEL_EDGE)
    return cleared(coarse, wearer.figure, margin=COARSE_MARGIN, min_edge=2 * EDGE)


def tight_guernsey(wearer: Wearer) -> Cloth:
    """The jersey cut too close: hardly off the skin, and inside it over bust and hips."""

    def room(points: Points) -> VertexScalars:
        height = points[:, 1]
        bust = np.exp(-(((height - float(wearer.joint("spine_3")[1])) / TIGHT_REACH) ** 2))
        hips = np.exp(-(((height - float(wearer.joint("pelvis")[1])) / TIGHT_REACH) ** 2))
        return TIGHT_ROOM - TIGHT_INSIDE * np.maximum(bust, hips)

    cloth = guernsey(wearer)
    cloth = cloth.moved(wearer.figure.drawn_to(cloth.vertices, room(cloth.vertices), reach=1.5 * ROOM))
    for _ in range(PASSES):
        cloth = evened(cloth, None, rounds=4)
        cloth = settled(cloth, wearer.figure, clearance=room(cloth.vertices), rounds=3)
    return cloth


def over_belly(wearer: Wearer, points: Points) -> Bool[np.ndarray, " V"]:
    """The front of the trunk between hip joints and ribs, where the coarse jersey has too few vertices, (V,)."""
    low, high = float(wearer.joint("thigh_l")[1]) + 0.03, float(wearer.joint("spine_2")[1]) + 0.06
    front = points[:, 2] > float(wearer.joint("pelvis")[2]) + 0.015
    return front & (points[:, 1] > low) & (points[:, 1] < high) & (np.abs(points[:, 0]) < BELLY_HALF)


def _seamed(wearer: Wearer, neck: Neck, hem: float, cloth: Cloth) -> Cloth:
    """Ribs and the seams at the side, under the arm and round the armhole."""
    cloth = cloth.cut(hem + HEM_RIB - cloth.vertices[:, 1], part=RIB)
    cloth = cloth.cut(neck.opened(cloth.vertices, height=COLLAR, slack=COLLAR_SLACK), part=RIB)
    for side in SIDES:
        cloth = cloth.cut(cuff(wearer, side, cloth.vertices, along=CUFF_AT - CUFF_RIB), part=RIB)
        cloth = cloth.cut(armhole(wearer, side, cloth))
    return cloth.cut(side_line(wearer, cloth.vertices))


def _ribbed(wearer: Wearer, neck: Neck, hem: float, points: Points) -> VertexScalars:
    """1 at the ribs, 0 away from them, smooth between."""
    rib = fade(points[:, 1], hem + HEM_RIB + 0.03, hem + HEM_RIB - 0.03)
    rib = np.maximum(rib, fade(neck.opened(points, height=COLLAR, slack=COLLAR_SLACK), -0.03, 0.01))
    for side in SIDES:
        rib = np.maximum(rib, fade(cuff(wearer, side, points, along=CUFF_AT - CUFF_RIB), -0.03, 0.015))
    return rib


def _box(wearer: Wearer, neck: Neck, hem: float) -> tuple[np.ndarray, np.ndarray]:
    """Round the trunk and the arms, from under the hem to over the collar."""
    arms = wearer.skin_of((*wearer.arm("l"), *wearer.arm("r")))
    low = np.array([arms[:, 0].min(), hem, wearer.vertices[:, 2].min()]) - 0.05
    high = np.array([arms[:, 0].max(), neck.middle[1] + COLLAR + 0.03, wearer.vertices[:, 2].max()]) + 0.05
    return low, high
