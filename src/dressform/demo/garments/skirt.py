"""The long skirt: a waistband, close over the hips, falling in folds to the shin."""

import numpy as np

from dressform.arrays import Points
from dressform.demo.tailor.bridging import yoked
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.hull import Tube
from dressform.demo.tailor.lines import fade
from dressform.demo.tailor.settle import evened, settled
from dressform.demo.tailor.wearer import TRUNK, Wearer

PARTS = ("flannel", "waistband")
FLANNEL, WAISTBAND = range(2)
WAIST_ROOM = 0.005
HIP_ROOM = 0.006  # 3.8 cm of ease at the hip
FLARE = 0.17  # metres of room gained per metre
FLARE_FROM = 1.35  # times the way from waist to hip joint
FOLD_DEPTH = 0.022
FOLDS = 11
EDGE = 0.0165
BAND = 0.035  # height of the waistband


def skirt(wearer: Wearer) -> Cloth:
    """The skirt as one sheet with two openings."""
    waist, hem = float(wearer.joint("spine_1")[1]) + 0.015, 0.45 * float(wearer.joint("shin_l")[1])
    middle = float(wearer.joint("pelvis")[2])
    top, bottom = np.array([0.0, waist, middle]), np.array([0.0, hem, middle])
    points = wearer.skin_of((*TRUNK, *wearer.leg("l"), *wearer.leg("r")))
    tube = Tube.round_points(points, top, bottom, front=np.array([0.0, 0.0, 1.0])).smoothed(along=0.015)
    tube = tube.hanging().smoothed(along=0.02)
    hip = waist - float(wearer.joint("thigh_l")[1])

    def room(stations: np.ndarray, _: np.ndarray) -> np.ndarray:
        close = WAIST_ROOM + (HIP_ROOM - WAIST_ROOM) * fade(stations, 0.0, hip)
        return close + FLARE * np.maximum(stations - FLARE_FROM * hip, 0.0)

    tube, length = tube.mapped(room), waist - hem
    rows = round(length / EDGE) + 1
    around = round(float(np.linalg.norm(np.ptp(tube.ring(0.6 * length, 64)[:, [0, 2]], axis=0))) * 2.25 / EDGE)
    stations = np.linspace(0.0, length, rows)
    depths = FOLD_DEPTH * fade(stations, hip, length)
    rings = [_ring(tube, float(place), around, float(depth)) for place, depth in zip(stations, depths)]
    index = np.arange(rows * around).reshape(rows, around)
    upper, lower = index[:-1], index[1:]
    quads = np.stack([upper, np.roll(upper, -1, axis=1), np.roll(lower, -1, axis=1), lower], axis=-1)
    cloth = Cloth.of_quads(np.concatenate(rings), quads.reshape(-1, 4))
    cloth = settled(cloth, wearer.figure, clearance=0.8 * WAIST_ROOM, rounds=3, keep_volume=True)
    cloth = yoked(cloth, wearer, waist=waist, room=HIP_ROOM)
    cloth = settled(cloth, wearer.figure, clearance=0.8 * WAIST_ROOM, rounds=3, keep_volume=True)
    cloth = cloth.cut(cloth.vertices[:, 1] - waist + BAND, part=WAISTBAND)
    return evened(cloth.cut(cloth.vertices[:, 2] - middle), wearer.figure, clearance=0.8 * WAIST_ROOM)


def _ring(tube: Tube, station: float, count: int, depth: float) -> Points:
    """One outline of the skirt, its folds `depth` deep and uneven round the body."""
    return tube.ring(
        station, count, wave=lambda a: depth * np.cos(FOLDS * a + 0.9 * np.sin(2 * a) + 0.6 * np.sin(3 * a + 1.0))
    )
