"""Sliders of the page, with where on the body each acts."""

import numpy as np
from jaxtyping import Float

from dressform.arrays import Points
from dressform.body.body import Body
from dressform.body.stances.sliders import JointSlider
from dressform.body.stances.turns import modelled_worlds
from dressform.formats.results.page.about import Slider
from dressform.formats.results.page.stances import JointSliderAbout
from dressform.units import numbers

MOST = 0.75
"""Skin that moves at least so much of the largest move belongs to where a morph moves most."""
BESIDE = 0.04
"""Farther than this from the middle plane, a place is on one side of the body, metres."""


def page_sliders(body: Body) -> tuple[Slider, ...]:
    """The morphs, with where each moves the body."""
    sliders = []
    for name, low, high, delta in zip(body.morph_names, body.range.low, body.range.high, body.deltas):
        moved = (delta**2).sum(axis=1)
        middle = moved @ body.vertices / moved.sum() if moved.any() else body.vertices.mean(axis=0)
        x, y, z = numbers(middle)
        ends = moved_most(body.vertices, np.sqrt(moved))
        sliders.append(Slider(name=name, low=float(low), high=float(high), position_m=(x, y, z), ends=ends))
    return tuple(sliders)


def page_joint_slider(body: Body, slider: JointSlider) -> JointSliderAbout:
    """A slider that moves joints, with the skin nearest to the first of them on each side."""
    place, ends = np.zeros(3), tuple[int, ...]()
    if body.skeleton is not None:
        moved = slider.moved(body.skeleton) or (0,)
        joints = modelled_worlds(body.skeleton)[list(moved), :3, 3]
        place = joints[0]
        sides = [joints[joints[:, 0] > BESIDE][:1], joints[joints[:, 0] < -BESIDE][:1]]
        chosen = np.concatenate(sides) if all(map(len, sides)) else joints[:1]
        ends = tuple(_nearest(body.vertices, joint) for joint in chosen)
    x, y, z = numbers(place)
    return JointSliderAbout(name=slider.name, low=slider.low, high=slider.high, position_m=(x, y, z), ends=ends)


def moved_most(vertices: Points, moved: Float[np.ndarray, " B"]) -> tuple[int, ...]:
    """Vertices in the middle of where most is moved: one on each side where both sides are moved apart, else one.

    Args:
        vertices: The body at its base, (B, 3), metres.
        moved: How far a morph moves each of them, metres.
    """
    if not moved.any():
        return ()
    most = np.flatnonzero(moved >= MOST * moved.max())
    sides = [most[vertices[most, 0] > BESIDE], most[vertices[most, 0] < -BESIDE]]
    groups = sides if all(map(len, sides)) and sum(map(len, sides)) > len(most) / 2 else [most]
    return tuple(int(group[_nearest(vertices[group], vertices[group].mean(axis=0))]) for group in groups)


def _nearest(vertices: Points, place: Float[np.ndarray, "3"]) -> int:
    """The vertex nearest to a place."""
    return int(np.argmin(np.linalg.norm(vertices - place, axis=1)))
