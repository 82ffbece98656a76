"""Stances, animations and sliders that move joints, as the page is told of them."""

from dressform.faults.results import FaultName, Severity
from dressform.formats.results.record import Count, NonNegative, Position, Record


class AnimationAbout(Record, frozen=True):
    """An animation of the body file.

    Attributes:
        name: Its name.
        duration_s: How long it lasts, seconds.
        count: Number of key frames.
    """

    name: str
    duration_s: NonNegative
    count: Count


class StanceAbout(Record, frozen=True):
    """A stance in which garments are looked at.

    Attributes:
        name: What it is called.
        origin: Where it comes from, in words.
    """

    name: str
    origin: str


class PosedShapeAbout(Record, frozen=True):
    """A shape of one garment at a stance that was looked at.

    Attributes:
        garment: Key of the garment.
        stance: Index into the stances; null where only sliders move joints.
        label: What a person reads for the shape.
        weights: One per slider.
        joints: Value of each slider that moves joints.
        severity: How bad it is there.
        fault: The fault that is gravest there.
        words: What a person reads for it, with its amount; empty where the garment is clean.
    """

    garment: str
    stance: Count | None
    label: str
    weights: tuple[float, ...]
    joints: tuple[float, ...]
    severity: Severity
    fault: FaultName
    words: str


class JointSliderAbout(Record, frozen=True):
    """A slider that moves joints; the body is as modelled at 0.

    Attributes:
        name: Its name.
        low: Its lower end.
        high: Its upper end.
        position_m: The first joint that it moves, metres.
        ends: Body vertices nearest to that joint, and to its fellow on the other side where it moves both.
    """

    name: str
    low: float
    high: float
    position_m: Position
    ends: tuple[Count, ...] = ()
