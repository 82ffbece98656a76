"""The stances that stand for sliders of joints: their ends, corners where they share a chain, and samples between.

On one node of a chain each, sliders enter every position once: it is affine in each of them, and so in the weights
too, and what is linear in a position is least at a corner of the box. Where one slider changes several nodes of a
chain, turns a joint or plays an animation, it is not, and moments between its ends are looked at as well.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, islice, product

import numpy as np
from scipy.stats import qmc

from dressform.body.pose import ROTATION
from dressform.body.skeleton import Skeleton
from dressform.body.stance import AS_MODELLED, Stance
from dressform.body.stances.sliders import JointSlider, slid_stance
from dressform.body.stances.turns import modelled_worlds

BETWEEN = 0.5
SLIDER_SEED = 21
MOST_CORNERS = 32
"""So many corners of sliders that share a chain are looked at; a note tells where there are more."""


def slider_stances(skeleton: Skeleton, sliders: Sequence[JointSlider]) -> tuple[tuple[Stance, ...], tuple[str, ...]]:
    """A stance for each end, corner and sample, without a pose, and notes of what they do not cover."""
    singles = [{slider.name: value} for slider in sliders for value in _alone(skeleton, slider)]
    corners = list(islice(_corners(skeleton, sliders), MOST_CORNERS + 1))
    chosen = [*singles, *corners[:MOST_CORNERS]]
    modelled = modelled_stance(skeleton)
    stances = tuple(slid_stance(modelled, skeleton, sliders, values) for values in chosen)
    if not sliders:
        return (), ()
    notes = [
        f"{len(stances)} stances stand for the sliders that move joints ({', '.join(one.name for one in sliders)}), "
        "in the modelled pose; at every stance of a pose the sample has them at values of its own."
    ]
    if len(corners) > MOST_CORNERS:
        notes.append(f"Of the corners of sliders that share a chain of joints the first {MOST_CORNERS} are looked at.")
    return stances, tuple(notes)


def modelled_stance(skeleton: Skeleton) -> Stance:
    """The modelled pose as a stance, for sliders to move."""
    return Stance(AS_MODELLED, modelled_worlds(skeleton), "sliders that move joints")


def single_ends(sliders: Sequence[JointSlider]) -> list[dict[str, float]]:
    """Each slider alone at each of its ends."""
    return [{slider.name: value} for slider in sliders for value in slider.ends.values()]


def sampled_sliders(sliders: Sequence[JointSlider], count: int, *, beside: int) -> list[dict[str, float]]:
    """Values of all sliders for each shape of a Sobol sample, even in space together with the weights of that sample.

    Args:
        sliders: The sliders.
        count: Shapes.
        beside: Morphs of the sample: the sequence's next dimensions are for the sliders.
    """
    if not sliders or not count:
        return [{} for _ in range(count)]
    sampler = qmc.Sobol(beside + len(sliders), scramble=True, rng=SLIDER_SEED)
    unit = sampler.random_base2(int(np.ceil(np.log2(count))))[:count, beside:]
    return [
        {one.name: float(one.low + (one.high - one.low) * share) for one, share in zip(sliders, shares)}
        for shares in unit
    ]


def is_affine(skeleton: Skeleton, slider: JointSlider) -> bool:
    """Whether positions are affine in the slider on each side of 0: it scales or moves one node of any chain."""
    if slider.animation is not None or any(effect.path == ROTATION for effect in slider.effects):
        return False
    joints = [effect.joint for effect in slider.effects]
    return len(set(joints)) == len(joints) and not any(
        _on_one_chain(skeleton, (first,), (second,)) for first, second in combinations(joints, 2)
    )


def _alone(skeleton: Skeleton, slider: JointSlider) -> list[float]:
    ends = list(slider.ends.values())
    return ends if is_affine(skeleton, slider) else [value for end in ends for value in (BETWEEN * end, end)]


def _corners(skeleton: Skeleton, sliders: Sequence[JointSlider]) -> Iterator[dict[str, float]]:
    """Ends of two sliders and more that share a chain, the fewest at once first."""
    moved = {slider.name: slider.moved(skeleton) for slider in sliders}
    for count in range(2, len(sliders) + 1):
        for group in combinations(sliders, count):
            pairs = combinations([moved[one.name] for one in group], 2)
            if all(_on_one_chain(skeleton, first, second) for first, second in pairs):
                for values in product(*(one.ends.values() for one in group)):
                    yield {one.name: value for one, value in zip(group, values)}


def _on_one_chain(skeleton: Skeleton, first: Sequence[int], second: Sequence[int]) -> bool:
    """Whether a joint of one lies above, or is, a joint of the other."""
    return any(one in _above(skeleton, other) or other in _above(skeleton, one) for one in first for other in second)


def _above(skeleton: Skeleton, joint: int) -> list[int]:
    way = [joint]
    while skeleton.parents[way[-1]] >= 0:
        way.append(int(skeleton.parents[way[-1]]))
    return way
