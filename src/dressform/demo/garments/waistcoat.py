"""The waistcoat: sleeveless, open in a V at the neck, pointed at the front, with brass buttons seated on the cloth."""

import numpy as np

from dressform.arrays import Points, VertexScalars
from dressform.demo.tailor.bridging import bridged_trunk
from dressform.demo.tailor.buttons import button
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.lines import fade, smooth_least
from dressform.demo.tailor.nets import Samples, zero_surface
from dressform.demo.tailor.openings import Neck, armhole, side_line
from dressform.demo.tailor.settle import evened, settled
from dressform.demo.tailor.wearer import SIDES, TRUNK, Wearer

BUTTONS = 5
PARTS = ("tweed", *(f"button {number}" for number in range(1, BUTTONS + 1)))
RADIUS = 0.0095
DOME = 0.0045
BRIDGE_CLOSER = 0.002
ROOM = 0.0165  # 10.4 cm of ease at the bust
EDGE = 0.0155
ROUNDS = 36


def waistcoat(wearer: Wearer) -> Cloth:
    """The waistcoat's cloth as one sheet with four openings."""
    trunk = wearer.skin_of(TRUNK)
    hem = float(wearer.joint("pelvis")[1]) - 0.01
    low, high = trunk.min(axis=0) - 0.05, trunk.max(axis=0) + 0.05
    shoulder = float(wearer.joint("upper_arm_l")[0]) + 0.04
    low[0], high[0] = -shoulder, shoulder
    low[1], high[1] = hem - 0.08, float(wearer.joint("neck")[1]) + 0.06
    bridged = bridged_trunk(wearer, low=hem - 0.04)
    samples = Samples.of(
        lambda p: smooth_least(wearer.figure.distance(p), bridged.capped(p) + BRIDGE_CLOSER, blend=0.02) - ROOM,
        low,
        high,
        spacing=EDGE,
    )
    vertices, quads = zero_surface(samples)
    cloth = Cloth.of_quads(samples.onto(vertices), quads).largest()
    cloth = settled(cloth, wearer.figure, clearance=ROOM, rounds=ROUNDS)
    neck = Neck(wearer)
    cloth = cloth.trimmed(_hem(cloth.vertices, hem))
    cloth = cloth.trimmed(_neckline(wearer, neck, cloth.vertices))
    for side in SIDES:
        cloth = cloth.trimmed(armhole(wearer, side, cloth, share=0.3))
    cloth = settled(cloth.largest(), wearer.figure, clearance=ROOM, rounds=6)
    cloth = cloth.cut(side_line(wearer, cloth.vertices))
    front = cloth.cut(np.where(cloth.vertices[:, 2] > neck.foot[2], cloth.vertices[:, 0], -1.0))
    return _buttoned(wearer, evened(front, wearer.figure, clearance=ROOM), hem)


def _buttoned(wearer: Wearer, cloth: Cloth, hem: float) -> Cloth:
    """Brass down the front, each button a part of its own."""
    top = float(wearer.joint("spine_3")[1]) - 0.02
    toward, sewn = np.array([0.0, 0.0, 1.0]), cloth
    for number, height in enumerate(np.linspace(top, hem + 0.03, BUTTONS)):
        place = np.array([0.0, height, 0.0])
        sewn = sewn.joined(button(cloth, place, towards=toward, radius=RADIUS, height=DOME).as_part(1 + number))
    return sewn


def _hem(points: Points, height: float) -> VertexScalars:
    """Below the hem: level round the back, two points at the front."""
    front = fade(points[:, 2], 0.0, 0.06)
    tip = 0.045 * np.exp(-(((np.abs(points[:, 0]) - 0.045) / 0.035) ** 2))
    return height - front * tip - points[:, 1]


def _neckline(wearer: Wearer, neck: Neck, points: Points) -> VertexScalars:
    """A V at the front that joins the ring round the neck."""
    lowest = float(wearer.joint("spine_3")[1]) + 0.0
    slope = (neck.radius + 0.02) / (float(neck.middle[1]) - lowest)
    wedge = slope * (points[:, 1] - lowest) - np.abs(points[:, 0])
    wedge = np.minimum(wedge, 2.0 * (points[:, 2] - neck.middle[2]))
    return np.maximum(wedge, neck.opened(points, height=0.0, slack=0.022))
