"""The stances that stand for sliders of joints: their ends, corners where they share a chain, and samples between.

On one node of a chain each, sliders enter every position once: it is affine in each of them, and so in the weights
too, and what is linear in a position is least at a corner of the box. Where one slider changes several nodes of a
chain, turns a joint or plays an animation, it is not, and moments between its ends are looked at as well.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, islice, product

from dressform.body.pose import ROTATION
from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance
from dressform.body.stances.sliders import JointSlider, slid_worlds

BETWEEN = 0.5
MOST_CORNERS = 32
"""So many corners of sliders that share a chain are looked at; a note tells where there are more."""


def slider_stances(skeleton: Skeleton, sliders: Sequence[JointSlider]) -> tuple[tuple[Stance, ...], tuple[str, ...]]:
    """A stance for each end, corner and sample, without a pose, and notes of what they do not cover."""
    singles = [{slider.name: value} for slider in sliders for value in _alone(skeleton, slider)]
    corners = list(islice(_corners(skeleton, sliders), MOST_CORNERS + 1))
    chosen = [*singles, *corners[:MOST_CORNERS]]
    stances = tuple(
        Stance(_words(values, sliders), slid_worlds(skeleton, sliders, values), "sliders that move joints")
        for values in chosen
    )
    if not sliders:
        return (), ()
    notes = [
        f"{len(stances)} stances stand for the sliders that move joints ({', '.join(one.name for one in sliders)}), "
        "in the modelled pose; other stances may set them."
    ]
    if len(corners) > MOST_CORNERS:
        notes.append(f"Of the corners of sliders that share a chain of joints the first {MOST_CORNERS} are looked at.")
    return stances, tuple(notes)


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


def _words(values: dict[str, float], sliders: Sequence[JointSlider]) -> str:
    """`arm_length high, height low`; a value between the ends as a number."""
    ends = {slider.name: {value: word for word, value in slider.ends.items()} for slider in sliders}
    return ", ".join(f"{name} {ends[name].get(value, f'{value:g}')}" for name, value in values.items())
