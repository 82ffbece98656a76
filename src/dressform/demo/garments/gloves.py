"""Fingerless gloves: knitted tubes round palm and wrist with a short stub for every finger."""

import numpy as np

from dressform.arrays import Points, VertexScalars
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.lines import beyond, beyond_near, unit
from dressform.demo.tailor.nets import Samples, zero_surface
from dressform.demo.tailor.settle import evened, settled
from dressform.demo.tailor.wearer import FINGERS, SIDES, Wearer

PARTS = ("glove left", "cuff left", "glove right", "cuff right")
ROOM = 0.002
STUB = 0.8  # share of the first finger bone that is covered
WRIST = 0.055  # metres of forearm that are covered
THUMB_SEAM = 0.42  # share of the thumb's first bone at which its tube is sewn on
THUMB_REACH = 0.026
CUFF_ABOVE = 0.008  # the ribbed cuff starts that far above the wrist joint
FINGER_REACH = 0.014
EDGE = 0.0036


def gloves(wearer: Wearer) -> Cloth:
    """Both gloves, two sheets with six openings each."""
    left, right = (_glove(wearer, side, part) for side, part in zip(SIDES, (0, 2)))
    return left.joined(right)


def _glove(wearer: Wearer, side: str, part: int) -> Cloth:
    wrist, elbow = wearer.joint(f"hand_{side}"), wearer.joint(f"forearm_{side}")
    hand = wearer.skin_of(wearer.hand(side))
    forearm = wrist + WRIST * unit(elbow - wrist)
    low = np.minimum(hand.min(axis=0), forearm) - 0.03
    high = np.maximum(hand.max(axis=0), forearm) + 0.03
    samples = Samples.of(lambda p: wearer.figure.distance(p) - ROOM, low, high, spacing=EDGE)
    vertices, quads = zero_surface(samples)
    glove = Cloth.of_quads(samples.onto(vertices), quads).largest()
    glove = settled(glove, wearer.figure, clearance=ROOM, rounds=6)
    glove = glove.trimmed(beyond_near(glove.vertices, forearm, elbow - wrist, reach=0.06))
    for finger in FINGERS:
        glove = glove.trimmed(_past_stub(wearer, finger, side, glove.vertices))
    glove = settled(glove.largest(), wearer.figure, clearance=0.8 * ROOM, rounds=4).as_part(part)
    glove = glove.cut(beyond(glove.vertices, wrist + CUFF_ABOVE * unit(elbow - wrist), elbow - wrist), part=part + 1)
    glove = glove.cut(_palm_side(wearer, side, glove.vertices))
    thumb, joint = wearer.joint(f"thumb_1_{side}"), wearer.joint(f"thumb_2_{side}")
    root = thumb + THUMB_SEAM * (joint - thumb)
    glove = glove.cut(beyond_near(glove.vertices, root, joint - thumb, reach=THUMB_REACH))
    along = np.cross(joint - thumb, np.cross(joint - thumb, np.array([0.0, 0.0, 1.0])))
    stub = beyond_near(glove.vertices, root, joint - thumb, reach=THUMB_REACH)
    glove = glove.cut(np.minimum(stub, beyond(glove.vertices, thumb, along)))
    return evened(glove, wearer.figure, clearance=0.8 * ROOM)


def _palm_side(wearer: Wearer, side: str, points: Points) -> VertexScalars:
    """In front of the sheet through the wrist and the joints of the fingers: the seam along the edge of the hand."""
    wrist = wearer.joint(f"hand_{side}")
    index, little = wearer.joint(f"index_1_{side}"), wearer.joint(f"little_1_{side}")
    return beyond(points, wrist, np.cross(index - wrist, little - wrist))


def _past_stub(wearer: Wearer, finger: str, side: str, points: Points) -> VertexScalars:
    knuckle, joint = wearer.joint(f"{finger}_1_{side}"), wearer.joint(f"{finger}_2_{side}")
    place = knuckle + STUB * (joint - knuckle)
    return np.minimum(
        beyond_near(points, place, joint - knuckle, reach=FINGER_REACH), beyond(points, knuckle, joint - knuckle)
    )
