"""The oilskin coat: loose, knee-length, A-line, with sleeves, a fallen collar, a covered placket and pocket flaps."""

import numpy as np

from dressform.arrays import Points, VertexScalars
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.hull import Tube
from dressform.demo.tailor.lines import fade, smooth_least, unit
from dressform.demo.tailor.nets import Samples, zero_surface
from dressform.demo.tailor.openings import Neck, armhole, cuff, side_line
from dressform.demo.tailor.settle import SupportingBody, evened, settled
from dressform.demo.tailor.wearer import SIDES, TRUNK, Wearer

ROOM = 0.034  # at the bust: 2π·3.4 cm = 21 cm of ease, a coat's
SHOULDER_ROOM = 0.0245  # a coat lies on what is worn under it
SLEEVE_ROOM = 0.018
CUFF_ROOM = 0.034
FLARE = 0.09  # metres of room gained per metre below the bust
FOLD_DEPTH = 0.012  # of the folds at the hem
FOLDS = 7
EDGE = 0.0185
PARTS = ("coat", "collar", "placket", "pockets")
COAT, COLLAR, PLACKET, POCKETS = range(4)
PLACKET_HALF = 0.026  # half its width
POCKET_MIDDLE, POCKET_HALF, POCKET_DEPTH = 0.135, 0.062, 0.055  # from the middle of the front, metres
COLLAR_STAND = 0.022
COLLAR_FALL = 0.058
COLLAR_PART = 0.28  # radians from the front within which the collar is parted
COLLAR_ROWS = 4
COLLAR_ROUNDS = 4  # of smoothing round the neck
COLLAR_LIFT = 0.007  # between the fallen collar and the coat


def coat(wearer: Wearer) -> Cloth:
    """The coat as one sheet with four openings."""
    trunk, sleeves = _trunk(wearer), [_sleeve(wearer, side) for side in SIDES]

    def field(points: Points) -> VertexScalars:
        inside = trunk.capped(points) - _folds(trunk, points)
        for sleeve in sleeves:
            inside = smooth_least(inside, sleeve.capped(points), blend=0.03)
        return smooth_least(inside, wearer.figure.distance(points) - SHOULDER_ROOM, blend=0.05)

    low, high = _box(wearer, trunk)
    samples = Samples.of(field, low, high, spacing=EDGE)
    vertices, quads = zero_surface(samples)
    cloth = Cloth.of_quads(samples.onto(vertices), quads).largest()
    cloth = settled(cloth, wearer.figure, clearance=SHOULDER_ROOM, rounds=8, keep_volume=True)
    hem = float(wearer.joint("shin_l")[1]) - 0.02
    cloth = cloth.trimmed(hem - cloth.vertices[:, 1])
    neck = Neck(wearer)
    cloth = cloth.trimmed(neck.opened(cloth.vertices, height=0.02, slack=0.032, drop=0.006))
    for side in SIDES:
        cloth = cloth.trimmed(cuff(wearer, side, cloth.vertices, along=0.98))
    cloth = cloth.largest()
    cloth = settled(cloth, wearer.figure, clearance=SHOULDER_ROOM, rounds=4, keep_volume=True)
    for side in SIDES:
        cloth = cloth.cut(armhole(wearer, side, cloth))
    cloth = _collared(_fronted(wearer, cloth), neck)
    return evened(cloth.cut(side_line(wearer, cloth.vertices)), wearer.figure, clearance=0.9 * SHOULDER_ROOM)


def _fronted(wearer: Wearer, cloth: Cloth) -> Cloth:
    """A placket down the front, a seam below the waist, and a flap under it on either side."""
    seam = float(wearer.joint("pelvis")[1]) + POCKET_DEPTH
    cloth = cloth.cut(
        np.minimum(PLACKET_HALF - np.abs(cloth.vertices[:, 0]), side_line(wearer, cloth.vertices)), part=PLACKET
    )
    # On the trunk alone: a sleeve that hangs as low is narrower than what it hangs from.
    arms = np.maximum(*(armhole(wearer, side, cloth) for side in SIDES))
    cloth = cloth.cut(np.where(arms > 0, -1.0, seam - cloth.vertices[:, 1]))
    aside = POCKET_HALF - np.abs(np.abs(cloth.vertices[:, 0]) - POCKET_MIDDLE)
    down = np.minimum(cloth.vertices[:, 1] - seam + POCKET_DEPTH, seam - cloth.vertices[:, 1])
    flap = np.minimum(np.minimum(aside, down), side_line(wearer, cloth.vertices))
    arms = np.maximum(*(armhole(wearer, side, cloth) for side in SIDES))
    return cloth.cut(np.where(arms > 0, -1.0, flap), part=POCKETS)


def _collared(cloth: Cloth, neck: Neck) -> Cloth:
    """A collar that stands at the neck, turns over and lies on the shoulders, parted at the front."""
    loop = cloth.loop_near(neck.middle)
    rim = cloth.vertices[loop]
    away = rim - neck.foot
    away[:, 1] = 0.0
    length = np.linalg.norm(away, axis=1, keepdims=True)
    outward, angle = away / length, np.arctan2(away[:, 0], away[:, 2])
    parted = 1 - np.exp(-((angle / COLLAR_PART) ** 2))[:, None]
    stand, fall = COLLAR_STAND * (0.3 + 0.7 * parted), COLLAR_FALL * (0.12 + 0.88 * parted)
    up = np.array([0.0, 1.0, 0.0])
    rings = [
        rim + 0.5 * stand * up - 0.003 * outward,
        rim + stand * up,
        rim + (stand + 0.004) * up + 0.007 * outward,
        rim + 0.8 * stand * up + 0.013 * outward,
    ]
    shell = SupportingBody.of(cloth.vertices, cloth.faces)
    for share in np.arange(1, COLLAR_ROWS + 1) / COLLAR_ROWS:
        lift = COLLAR_LIFT + (1 - share) * 0.006
        place = rim + (0.013 + share * fall) * outward + (0.8 * stand * (1 - share) - 0.35 * share * fall) * up
        lying = shell.drawn_to(place, np.full(len(place), lift), reach=0.1)
        ring = _evened_round(place + fade(np.array([share]), 0.0, 0.5) * (lying - place))
        rings.append(shell.held_off(ring, lift))
    return cloth.with_rings(loop, rings, part=COLLAR)


def _evened_round(ring: Points) -> Points:
    """A closed row of points, small waves taken out."""
    for _ in range(COLLAR_ROUNDS):
        ring = 0.5 * ring + 0.25 * (np.roll(ring, 1, axis=0) + np.roll(ring, -1, axis=0))
    return ring


def _trunk(wearer: Wearer) -> Tube:
    shoulder = wearer.joint("upper_arm_l")
    top = np.array([0.0, shoulder[1] - 0.035, 0.5 * (wearer.joint("spine_3")[2] + wearer.joint("pelvis")[2])])
    bottom = np.array([0.0, wearer.joint("shin_l")[1] - 0.1, top[2]])
    points = wearer.skin_of((*TRUNK, *wearer.leg("l"), *wearer.leg("r")))
    bust = top[1] - wearer.joint("spine_3")[1] + 0.02
    tube = Tube.round_points(points, top, bottom, front=np.array([0.0, 0.0, 1.0])).hanging().smoothed(along=0.03)

    def room(stations: np.ndarray, angles: np.ndarray) -> np.ndarray:
        below = np.maximum(stations - bust, 0.0)
        return SHOULDER_ROOM + (ROOM - SHOULDER_ROOM) * fade(stations, 0.0, bust) + FLARE * below

    return tube.mapped(room)


def _folds(trunk: Tube, points: Points) -> VertexScalars:
    """How far the folds stand out: nothing at the bust, deep at the hem, uneven round the body."""
    along, angle = trunk.place(points)
    return FOLD_DEPTH * fade(along, 0.2, 0.8) * np.cos(FOLDS * angle + 0.7 * np.sin(2 * angle) + 0.5)


def _sleeve(wearer: Wearer, side: str) -> Tube:
    shoulder, wrist = wearer.joint(f"upper_arm_{side}"), wearer.joint(f"hand_{side}")
    end = wrist + 0.06 * unit(wrist - shoulder)
    points = wearer.skin_of((*wearer.arm(side), *wearer.hand(side)))
    tube = Tube.round_points(points, shoulder, end, front=np.array([0.0, 0.0, 1.0]))
    length = float(np.linalg.norm(end - shoulder))
    tube = tube.smoothed(along=0.04)
    return tube.mapped(lambda s, a: SLEEVE_ROOM + (CUFF_ROOM - SLEEVE_ROOM) * fade(s, 0.0, length))


def _box(wearer: Wearer, trunk: Tube) -> tuple[np.ndarray, np.ndarray]:
    reach = float(trunk.support.max()) + 0.04
    arms = wearer.skin_of((*wearer.arm("l"), *wearer.arm("r")))
    low = np.array([arms[:, 0].min() - 0.1, wearer.joint("shin_l")[1] - 0.07, trunk.origin[2] - reach])
    high = np.array([arms[:, 0].max() + 0.1, wearer.joint("neck")[1] + 0.09, trunk.origin[2] + reach])
    return low, high
