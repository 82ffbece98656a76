"""Where cloth spans the hollows of the trunk (between the breasts, along the spine) and where it must not."""

import numpy as np

from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.hull import Tube
from dressform.demo.tailor.lines import fade
from dressform.demo.tailor.wearer import SIDES, TRUNK, Wearer

YOKE_REACH = 0.03  # cloth farther from the skin is left alone, metres
BELOW_SHOULDER = 0.10  # the arms begin there


def bridged_trunk(wearer: Wearer, *, low: float) -> Tube:
    """Convex sections of the trunk from under the arms down to height `low`."""
    middle = 0.5 * (float(wearer.joint("spine_3")[2]) + float(wearer.joint("pelvis")[2]))
    top = np.array([0.0, float(wearer.joint("upper_arm_l")[1]) - BELOW_SHOULDER, middle])
    bottom = np.array([0.0, low, middle])
    points = wearer.skin_of((*TRUNK, *(f"thigh_{side}" for side in SIDES)))
    return Tube.round_points(points, top, bottom, front=np.array([0.0, 0.0, 1.0])).smoothed(along=0.012)


def yoked(cloth: Cloth, wearer: Wearer, *, waist: float, room: float) -> Cloth:
    """Cloth drawn close to the skin from the waist down to over the hip joint, so that what is worn over it finds room.

    Args:
        cloth: A skirt or trousers.
        wearer: Who wears it.
        waist: Height of its upper edge.
        room: Clearance over the hips, metres.
    """
    hip = waist - float(wearer.joint("thigh_l")[1])
    reach = YOKE_REACH * fade(cloth.vertices[:, 1], waist - hip, waist - 0.6 * hip)
    return cloth.moved(wearer.figure.drawn_to(cloth.vertices, room, reach=reach))
