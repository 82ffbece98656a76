"""Wording of advice: lengths that a person can measure, numbers, places, shapes, costs."""

import math

from dressform.causes.results import Cluster
from dressform.faults.results import Place
from dressform.units import CM_PER_M

MM_PER_M = 1e3
PERCENT = 1e2
SMALL = 10.0  # mm; below this, tenths are shown
LONG = 1000.0  # mm; from here on, metres are shown
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
SIDED = {" l": "left ", " r": "right "}


def length(metres: float, *, down: bool = False) -> str:
    """Millimetres, with a tenth below 10; metres from 1 m on. `down` rounds towards zero, for what must not exceed."""
    millimetres = metres * MM_PER_M
    if abs(millimetres) >= LONG:
        return f"{metres:.2f} m"
    step = 0.1 if abs(millimetres) < SMALL else 1.0
    rounded = (math.floor(millimetres / step + 1e-9) if down else round(millimetres / step)) * step
    return f"{rounded:.1f}".removesuffix(".0") + " mm"


def percent(share: float) -> str:
    """A share in per cent, two digits."""
    return f"{float(f'{share * PERCENT:.2g}'):g} %"


def counted(count: int, noun: str) -> str:
    """`two edge loops`: small numbers as words."""
    number = NUMBERS[count] if count < len(NUMBERS) else str(count)
    return f"{number} {noun}{'' if count == 1 else 's'}"


def quoted(word: str) -> str:
    """A word as the command line accepts it: in quotation marks where it holds a space."""
    return f'"{word}"' if " " in word else word


def place_words(place: Place, line: str) -> str:
    """`belly, front left, 106 cm above the ground, 4.2 cm below the waist line`."""
    pieces = (region_words(place.region), place.side, f"{place.height * CM_PER_M:.0f} cm above the ground", line)
    return ", ".join(piece for piece in pieces if piece)


def region_words(region: str) -> str:
    """A region's name as people say it: `upper_arm_l` is the left upper arm."""
    words = region.replace("_", " ")
    side = SIDED.get(words[-2:], "")
    return side + words[:-2] if side else words


def shape_words(cluster: Cluster) -> str:
    """On which shape a figure was seen, `at belly=1` or the label of a shape of many weights, and in which stance."""
    label, stance = cluster.worst.label, cluster.worst.stance
    shape = f"at {label}" if "=" in label else f"on the shape `{label}`"
    return shape if stance is None else f"{shape} in the stance `{stance.name}`"
