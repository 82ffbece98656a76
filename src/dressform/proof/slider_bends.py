"""How far positions can bend away from being affine in a slider of joints: bounds of their second derivatives."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.body.pose import ROTATION, SCALE, TRANSLATION
from dressform.body.skeleton import Skeleton
from dressform.body.stances.sliders import JointEffect, JointSlider
from dressform.body.stances.turns import modelled_locals

Interval = tuple[float, float]
Rates = tuple[float, float, float]
"""Largest size of something, of its derivative by a slider, and of its second derivative, over a piece of the range."""
STILL: Rates = (1.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class SliderBends:
    """What the second derivatives by all sliders can add between the corners of a piece: Σ_i h_i² / 8 · |∂²/∂s_i²|.

    Attributes:
        linear: For the linear part of each joint's transform, (J,).
        place: For where it takes its own origin, (J,), metres.
        by_slider: The share of each slider in `linear` and `place` together, by name.
    """

    linear: Float[np.ndarray, " J"]
    place: Float[np.ndarray, " J"]
    by_slider: Mapping[str, float]


def slider_bends(skeleton: Skeleton, sliders: Sequence[JointSlider], piece: Mapping[str, Interval]) -> SliderBends:
    """Bounds over one piece of the range of sliders, none of which has 0 inside it.

    The local transform of a node is a turn, then a scale, then an offset: U Q(s) S(s) x + t(s). Scale and offset are
    affine in the slider, a turn by an angle a has derivatives of size |a| and a². Along a chain sizes and derivatives
    multiply by the product rule. A slider that changes one node of every chain, and does not turn it, gives 0: between
    corners nothing is added, and corners are exact.

    Args:
        skeleton: The joints.
        sliders: The sliders, none of them an animation.
        piece: Lowest and highest value of each, by name.

    Source: product rule; the error of interpolating by the corners of a box is at most Σ h_i² / 8 · max |∂²/∂s_i²|.
    Proof: tests/proof/test_slider_proof.py
    """
    count = len(skeleton.names)
    linear, place, shares = np.zeros(count), np.zeros(count), {}
    local = modelled_locals(skeleton)
    for slider in sliders:
        low, high = piece[slider.name]
        nodes = [_node(local[joint], joint, sliders, piece, slider.name) for joint in range(count)]
        weight = (high - low) ** 2 / 8
        second = np.array([_along(skeleton, nodes, joint) for joint in range(count)]).reshape(count, 2)
        linear += weight * second[:, 0]
        place += weight * second[:, 1]
        shares[slider.name] = weight * float(second.max(initial=0.0))
    return SliderBends(linear, place, shares)


def turned_by(sliders: Sequence[JointSlider], piece: Mapping[str, Interval], joint: int) -> float:
    """How far a joint turns at most from the middle of a piece to anywhere in it, radians."""
    turns = [
        abs(np.deg2rad(_end(effect, piece[slider.name])[0])) * 0.5 * (piece[slider.name][1] - piece[slider.name][0])
        for slider in sliders
        for effect in slider.effects
        if effect.joint == joint and effect.path == ROTATION
    ]
    return float(sum(turns))


def _end(effect: JointEffect, piece: Interval) -> Float[np.ndarray, " 3"]:
    return np.array(effect.low if piece[0] < 0 else effect.high, dtype=np.float64)


def _node(
    local: Float[np.ndarray, "4 4"], joint: int, sliders: Sequence[JointSlider], piece: Mapping[str, Interval], by: str
) -> tuple[Rates, Rates]:
    """Rates of a node's linear part and of its offset, by one slider."""
    scale = np.linalg.norm(local[:3, :3], axis=0)
    linear: Rates = (float(np.linalg.norm(local[:3, :3] / scale, 2)) * float(scale.max()), 0.0, 0.0)
    offset = np.array([float(np.linalg.norm(local[:3, 3])), 0.0, 0.0])
    for slider in sliders:
        low, high = piece[slider.name]
        far = max(abs(low), abs(high))
        for effect in slider.effects:
            if effect.joint != joint:
                continue
            end, own = _end(effect, piece[slider.name]), float(slider.name == by)
            if effect.path == SCALE:
                ends = np.abs([1 + abs(value) * (end - 1) for value in (low, high)])
                linear = _product(linear, (float(ends.max()), own * float(np.abs(end - 1).max()), 0.0))
            elif effect.path == ROTATION:
                angle = own * abs(float(np.deg2rad(end[0])))
                linear = _product(linear, (1.0, angle, angle**2))
            elif effect.path == TRANSLATION:
                size = float(np.linalg.norm(end))
                offset += (far * size, own * size, 0.0)
    return linear, (float(offset[0]), float(offset[1]), float(offset[2]))


def _along(skeleton: Skeleton, nodes: Sequence[tuple[Rates, Rates]], joint: int) -> tuple[float, float]:
    """Second derivative of a joint's linear part, and of where it takes its own origin."""
    linear, place = STILL, (0.0, 0.0, 0.0)
    for node in _upward(skeleton, joint):
        turn, offset = nodes[node]
        linear = _product(turn, linear)
        moved = _product(turn, place)
        place = (moved[0] + offset[0], moved[1] + offset[1], moved[2] + offset[2])
    return linear[2], place[2]


def _upward(skeleton: Skeleton, joint: int) -> Iterable[int]:
    while joint >= 0:
        yield joint
        joint = int(skeleton.parents[joint])


def _product(first: Rates, second: Rates) -> Rates:
    """Rates of a product, by the product rule."""
    return (
        first[0] * second[0],
        first[1] * second[0] + first[0] * second[1],
        first[2] * second[0] + 2 * first[1] * second[1] + first[0] * second[2],
    )
