"""Shapes named by a wearer: weights of morphs and values of sliders that move joints, side by side."""

from collections.abc import Mapping, Sequence

import numpy as np
from jaxtyping import Float
from numpy.typing import ArrayLike

from dressform.arrays import Points, Weights
from dressform.body.range import Range, WeightsByName
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import carry
from dressform.body.stances.following_joints import JointMoves, stance_on
from dressform.body.stances.slider_ends import modelled_stance
from dressform.body.stances.sliders import JointSlider, slid_stance
from dressform.errors import ArgumentError


def split_shape(
    function: str,
    box: Range,
    sliders: Sequence[JointSlider],
    named: ArrayLike | WeightsByName,
    *,
    argument: str = "weights",
) -> tuple[Weights, dict[str, float]]:
    """Weights of the morphs, (K,), and values of the sliders that move joints and are not at 0.

    Args:
        function, argument: What a message names.
        box: The range of the morphs.
        sliders: The sliders.
        named: Weights in the order of the morphs, or values by the names of morphs and sliders.

    Raises:
        ArgumentError: a name is neither (the valid ones are listed), a slider's value lies outside its ends, or a
            weight is refused by `Range.vector`.
    """
    if not isinstance(named, Mapping) or not sliders:
        return box.vector(function, named, argument=argument), {}
    known = {one.name: one for one in sliders}
    unknown = next((name for name in named if name not in known and name not in box.names), None)
    if unknown is not None:
        rule = f"names of morphs or sliders that move joints: {', '.join((*box.names, *known))}"
        raise ArgumentError.of(function, argument, rule, repr(unknown), "Use one of these names")
    morphs = {name: weight for name, weight in named.items() if name not in known}
    values = {name: float(value) for name, value in named.items() if name in known}
    for name, value in values.items():
        low, high = known[name].low, known[name].high
        if not low <= value <= high:
            rule = f"from {low:g} to {high:g} for {name}, which moves joints"
            raise ArgumentError.of(function, argument, rule, f"{value:g}", "Give a value between its ends")
    return box.vector(function, morphs, argument=argument), {name: value for name, value in values.items() if value}


def slid_points(
    points: Points,
    skin: Skin,
    skeleton: Skeleton,
    sliders: Sequence[JointSlider],
    values: Mapping[str, float],
    *,
    moves: JointMoves | None,
    weights: Weights,
) -> Float[np.ndarray, "V 3"]:
    """Points of a shape after sliders have moved the joints, which may have followed its morphs, (V, 3), metres."""
    stance = slid_stance(modelled_stance(skeleton), skeleton, sliders, values)
    return carry(stance_on(stance, skeleton, moves, weights).maps(skin, skeleton), points)
