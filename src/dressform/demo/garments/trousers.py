"""Wide trousers: close at the waist, straight and roomy from the hip down."""

import numpy as np

from dressform.arrays import Points, VertexScalars
from dressform.demo.tailor.bridging import yoked
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.hull import Tube
from dressform.demo.tailor.lines import fade, smooth_least, smooth_most
from dressform.demo.tailor.nets import Samples, zero_surface
from dressform.demo.tailor.openings import body_crotch, side_line
from dressform.demo.tailor.settle import evened, settled
from dressform.demo.tailor.wearer import SIDES, Wearer

PARTS = ("canvas", "waistband")
CANVAS, WAISTBAND = range(2)
WAIST_ROOM = 0.005  # 3 cm of ease at the waist
HIP_ROOM = 0.0085  # 5 cm at the hip
LEG_ROOM = 0.013
HEM_ROOM = 0.018
CROTCH_DROP = 0.02
SPLIT = 0.010  # half the gap between the legs, metres: more than half a sample, else it is not seen
EDGE = 0.0165
BAND = 0.04


def trousers(wearer: Wearer) -> Cloth:
    """The trousers as one sheet with three openings."""
    crotch = body_crotch(wearer)
    seat = _seat(wearer, float(crotch[1]))
    legs = [_leg(wearer, side) for side in SIDES]

    def field(points: Points) -> VertexScalars:
        pair = smooth_least(legs[0].distance(points), legs[1].distance(points), blend=0.01)
        pair = np.maximum(pair, points[:, 1] - float(wearer.joint("thigh_l")[1]))
        inside = smooth_least(pair, seat.capped(points), blend=0.02)
        inside = smooth_least(inside, wearer.figure.distance(points) - WAIST_ROOM, blend=0.01)
        slit = np.minimum(crotch[1] - CROTCH_DROP - points[:, 1], SPLIT - np.abs(points[:, 0]))
        return smooth_most(inside, slit, blend=0.006)

    waist = float(wearer.joint("spine_1")[1]) + 0.01
    hem = float(wearer.joint("foot_l")[1]) + 0.03
    reach = max(float(leg.support.max()) + abs(float(leg.origin[0])) for leg in legs) + 0.05
    depth = float(seat.support.max()) + 0.04
    low, high = np.array([-reach, hem - 0.05, -depth]), np.array([reach, waist + 0.05, depth])
    low[0] = -EDGE * np.ceil(reach / EDGE)  # so that samples fall into the middle of the gap
    samples = Samples.of(field, low, high, spacing=EDGE)
    vertices, quads = zero_surface(samples)
    cloth = Cloth.of_quads(samples.onto(vertices), quads).largest()
    cloth = settled(cloth, wearer.figure, clearance=0.8 * WAIST_ROOM, rounds=16)
    cloth = yoked(cloth, wearer, waist=waist, room=0.8 * HIP_ROOM)
    cloth = cloth.trimmed(hem - cloth.vertices[:, 1])
    cloth = cloth.trimmed(cloth.vertices[:, 1] - waist).largest()
    cloth = settled(cloth, wearer.figure, clearance=0.7 * WAIST_ROOM, rounds=4, keep_volume=True)
    cloth = cloth.cut(cloth.vertices[:, 1] - waist + BAND, part=WAISTBAND)
    cloth = cloth.cut(side_line(wearer, cloth.vertices))
    middle = np.where(cloth.vertices[:, 1] > crotch[1] - 0.1, cloth.vertices[:, 0], np.sign(cloth.vertices[:, 0]))
    return evened(cloth.cut(middle), wearer.figure, clearance=0.7 * WAIST_ROOM)


def _seat(wearer: Wearer, crotch: float) -> Tube:
    middle = float(wearer.joint("pelvis")[2])
    top = np.array([0.0, float(wearer.joint("spine_1")[1]) + 0.06, middle])
    bottom = np.array([0.0, crotch - CROTCH_DROP + 0.02, middle])
    points = wearer.skin_of(("root", "pelvis", "spine_1", "spine_2", "thigh_l", "thigh_r"))
    tube = Tube.round_points(points, top, bottom, front=np.array([0.0, 0.0, 1.0])).smoothed(along=0.02)
    length = float(top[1] - bottom[1])
    return tube.mapped(lambda s, a: WAIST_ROOM + (HIP_ROOM - WAIST_ROOM) * fade(s, 0.08, 0.7 * length))


def _leg(wearer: Wearer, side: str) -> Tube:
    hip, ankle = wearer.joint(f"thigh_{side}"), wearer.joint(f"foot_{side}")
    end = np.array([ankle[0], 0.0, ankle[2]])
    points = wearer.skin_of((*wearer.leg(side), *wearer.foot(side)))
    points = points[points[:, 1] > ankle[1] - 0.03]
    tube = Tube.round_points(points, hip, ankle + 0.01 * (hip - end), front=np.array([0.0, 0.0, 1.0]))
    tube = tube.smoothed(along=0.04).hanging().smoothed(along=0.03)
    length = float(np.linalg.norm(hip - ankle))
    return tube.mapped(
        lambda s, a: HIP_ROOM + (LEG_ROOM - HIP_ROOM) * fade(s, 0.0, 0.2) + (HEM_ROOM - LEG_ROOM) * fade(s, 0.2, length)
    )
