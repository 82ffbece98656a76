"""Where the cloth of a wearer opens: neck, cuffs, armholes, hems; each a field that is positive where cloth goes."""

import numpy as np

from dressform.arrays import Points, VertexScalars
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.lines import Vector, beyond, beyond_near, unit
from dressform.demo.tailor.wearer import Wearer

NECK_BAND = 0.012  # half the height of the slice of the neck that is measured, metres
NECK_SHARE = 0.5  # where it is measured, from the neck joint to the head joint
NECK_REACH = 0.1  # nothing farther than this from the neck's axis is neck
HEAD_REACH = 0.125  # what is above the neck and farther from its foot's upright is no longer head
WRIST_REACH = 0.16
LEAN = -0.05  # of the plane across the neck against the neck's own lean, metres a metre
ARM_ROUNDS = 12  # of smoothing
ARM_BLEND = 0.08  # metres over which the skin weights go from trunk to arm, about
LOW_NECK = 0.08  # how far below the neck joint the pipe round the neck still opens cloth, metres


class Neck:
    """The neck of a wearer: where it is, how it leans and how thick it is.

    Heights are metres above the middle of the neck.
    """

    def __init__(self, wearer: Wearer, *, lean: float = LEAN) -> None:
        joint, head = wearer.joint("neck"), wearer.joint("head")
        self.way = unit(unit(head - joint) + np.array([0.0, 0.0, lean]))
        place = joint + NECK_SHARE * (head - joint)
        past = beyond(wearer.vertices, place, self.way)
        near = np.linalg.norm(wearer.vertices - place, axis=1) < NECK_REACH
        slice_ = wearer.vertices[near & (np.abs(past) < NECK_BAND)]
        self.middle: Vector = (slice_.min(axis=0) + slice_.max(axis=0)) / 2
        self.foot: Vector = np.array([0.0, joint[1], 0.5 * (self.middle[2] + joint[2])])
        self.radius = float(np.linalg.norm(slice_ - self.middle, axis=1).mean())

    def above(self, points: Points, height: float) -> VertexScalars:
        """Past a plane across the neck."""
        return beyond(points, self.middle + height * self.way, self.way)

    def opened(self, points: Points, *, height: float, slack: float, drop: float = 0.0) -> VertexScalars:
        """Inside an upright pipe round the neck, `slack` wider (and `drop` more to the front), or past `height`."""
        away = (points - self.foot)[:, [0, 2]]
        depth = self.radius + slack + np.where(away[:, 1] > 0, drop, 0.0)
        pipe = self.radius * (1 - np.hypot(away[:, 0] / (self.radius + slack), away[:, 1] / depth))
        column = np.minimum(self.above(points, height), HEAD_REACH - np.linalg.norm(away, axis=1))
        return np.maximum(np.minimum(pipe, points[:, 1] - self.foot[1] + LOW_NECK), column)


def cuff(wearer: Wearer, side: str, points: Points, *, along: float) -> VertexScalars:
    """Past the place at share `along` of the forearm, on this arm only."""
    elbow, wrist = wearer.joint(f"forearm_{side}"), wearer.joint(f"hand_{side}")
    return beyond_near(points, elbow + along * (wrist - elbow), wrist - elbow, reach=WRIST_REACH)


def armhole(wearer: Wearer, side: str, cloth: Cloth, *, share: float = 0.5) -> VertexScalars:
    """Where the arm moves the skin beneath by more than `share`, smoothed over the cloth; in about metres, (V,)."""
    arm = cloth.evened(wearer.share(cloth.vertices, wearer.arm(side, hand=True)), rounds=ARM_ROUNDS)
    return ARM_BLEND * (arm - share)


def body_crotch(wearer: Wearer) -> Vector:
    """Lowest point of the trunk between the legs."""
    owned = wearer.owned(("pelvis", "root", "thigh_l", "thigh_r"))
    vertices = wearer.vertices[owned & (np.abs(wearer.vertices[:, 0]) < 0.006)]
    return vertices[vertices[:, 1].argmin()]


def side_line(wearer: Wearer, points: Points) -> VertexScalars:
    """In front of the side seam: the depth of the trunk's middle, then of the arm's, out to the hand."""
    names = ("upper_arm_l", "forearm_l", "hand_l")
    trunk = 0.5 * (wearer.joint("spine_3")[2] + wearer.joint("pelvis")[2])
    across = [0.0, *(float(abs(wearer.joint(name)[0])) for name in names)]
    depth = [float(trunk), *(float(wearer.joint(name)[2]) for name in names)]
    return points[:, 2] - np.interp(np.abs(points[:, 0]), across, depth)
