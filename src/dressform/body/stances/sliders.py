"""Sliders that move, turn or scale joints, beside those that mix morphs.

An engine adds the morphs first, then blends the joints: a slider changes the local transform of a node, children
inherit it, and skinning does the rest. At fixed values every vertex is again carried by one affine map, so such a
shape of the joints is a stance. A slider stands at 0 where the body is as modelled, and at -1 and 1 at its ends; in
between scale, offset and angle go evenly. Proof: tests/body/stances/test_sliders.py
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float
from scipy.spatial.transform import Rotation

from dressform.body.pose import ROTATION, SCALE, TRANSLATION, Animation, turned_worlds
from dressform.body.skeleton import Skeleton
from dressform.body.stance import AS_MODELLED, Stance
from dressform.body.stances.turns import Turn, about, modelled_locals, modelled_worlds, own_axes, turned_locals
from dressform.errors import ArgumentError

SAME_PLACE = 1e-4
"""An animation that serves as a slider starts as the body is modelled, up to this, metres and radians."""
Number = float | int
Triple = tuple[Number, Number, Number]


@dataclass(frozen=True)
class JointEffect:
    """What a slider does to one joint.

    Attributes:
        joint: Index of the joint.
        path: `scale`, `translation` or `rotation`, in axes of the joint (an offset: of the joint above), as in glTF.
        low: At -1: factors of the scale, an offset in metres, or degrees in the first number.
        high: The same at 1.
        axis: What a rotation turns about, in the joint's own axes.
    """

    joint: int
    path: str
    low: Triple
    high: Triple
    axis: Triple = (1.0, 0.0, 0.0)

    def on(self, local: Float[np.ndarray, "4 4"], value: float) -> Float[np.ndarray, "4 4"]:
        """The local transform with the slider at a value, (4, 4)."""
        share, end = abs(value), np.array(self.low if value < 0 else self.high)
        changed = local.copy()
        if self.path == SCALE:
            changed[:3, :3] *= 1 + share * (end - 1)
        elif self.path == TRANSLATION:
            changed[:3, 3] += share * end
        elif self.path == ROTATION:
            scale = np.linalg.norm(local[:3, :3], axis=0)
            turn = about(self.axis, share * float(end[0]))
            changed[:3, :3] = changed[:3, :3] @ (turn * scale[None, :] / scale[:, None])
        return changed


@dataclass(frozen=True)
class JointSlider:
    """A control that a wearer moves, and that moves joints.

    Attributes:
        name: What it is called.
        effects: What it does to which joint.
        animation: The animation that it plays from its start, at 0, to its end, at 1, if it is one.
        low: -1, or 0 where there is nothing below the body as modelled.
        high: 1, or 0.
    """

    name: str
    effects: tuple[JointEffect, ...] = ()
    animation: Animation | None = None
    low: float = -1.0
    high: float = 1.0

    @property
    def ends(self) -> dict[str, float]:
        """`low` and `high`, those that are not the body as modelled."""
        return {word: value for word, value in (("low", self.low), ("high", self.high)) if value}

    def moved(self, skeleton: Skeleton) -> tuple[int, ...]:
        """Joints that it changes."""
        if self.animation is None:
            return tuple(sorted({effect.joint for effect in self.effects}))
        changes = np.stack([_changes(skeleton, self.animation.worlds(float(time))) for time in self.animation.times])
        moved = np.abs(changes - np.eye(4)).max(axis=(0, 2, 3)) > SAME_PLACE
        return tuple(int(joint) for joint in np.flatnonzero(moved))

    def on(self, skeleton: Skeleton, local: Float[np.ndarray, "J 4 4"], value: float) -> Float[np.ndarray, "J 4 4"]:
        """Local transforms with the slider at a value, (J, 4, 4)."""
        changed = local.copy()
        for effect in self.effects:
            changed[effect.joint] = effect.on(changed[effect.joint], value)
        if self.animation is not None and value > 0:
            first = float(self.animation.times[0])
            worlds = self.animation.worlds(first + value * (self.animation.duration - first))
            changed = changed @ _changes(skeleton, worlds)
        return changed


def _changes(skeleton: Skeleton, worlds: Float[np.ndarray, "J 4 4"]) -> Float[np.ndarray, "J 4 4"]:
    """What to multiply each local transform of the modelled pose by so that the joints stand at `worlds`, (J, 4, 4)."""
    return np.linalg.inv(modelled_locals(skeleton)) @ skeleton.local(worlds)


def animated_slider(name: str, animation: Animation, skeleton: Skeleton) -> JointSlider:
    """An animation as a slider from 0 to 1.

    Raises:
        ArgumentError: it does not start as the body is modelled, so that the slider at 0 would be another body.
    """
    start = animation.worlds(float(animation.times[0]))
    if np.abs(start - modelled_worlds(skeleton)).max() > SAME_PLACE:
        advice = "Let its first key be the modelled pose"
        observed = f"one that starts elsewhere, {animation.name!r}"
        raise ArgumentError.of("animated_slider", "animation", "one that starts as modelled", observed, advice)
    return JointSlider(name, animation=animation, low=0.0)


def slid_locals(
    skeleton: Skeleton, sliders: Sequence[JointSlider], values: Mapping[str, Number]
) -> Float[np.ndarray, "J 4 4"]:
    """Local transforms with sliders at their values, from the modelled pose, (J, 4, 4); sliders not named are at 0.

    Raises:
        ArgumentError: a name is no slider, or a value lies outside its ends.
    """
    known = {slider.name: slider for slider in sliders}
    for name, value in values.items():
        if name not in known:
            rule = f"named as the sliders that move joints: {', '.join(known) or 'there are none'}"
            raise ArgumentError.of("slid_locals", "sliders", rule, repr(name), "Use one of these names")
        if not known[name].low <= value <= known[name].high:
            rule = f"from {known[name].low:g} to {known[name].high:g} for {name}"
            raise ArgumentError.of("slid_locals", "sliders", rule, f"{value:g}", "Give a value between its ends")
    local = modelled_locals(skeleton)
    for slider in sliders:  # in the order declared, whatever the order of the values
        if values.get(slider.name):
            local = slider.on(skeleton, local, float(values[slider.name]))
    return local


def slid_worlds(
    skeleton: Skeleton,
    sliders: Sequence[JointSlider],
    values: Mapping[str, Number],
    turns: Mapping[int, Turn] | None = None,
) -> Float[np.ndarray, "J 4 4"]:
    """Joint-to-world transforms with sliders at their values, and joints turned from there, (J, 4, 4).

    Raises:
        ArgumentError: see `slid_locals`.
    """
    return skeleton.world(turned_locals(skeleton, turns or {}, slid_locals(skeleton, sliders, values)))


def slid_stance(
    stance: Stance, skeleton: Skeleton, sliders: Sequence[JointSlider], values: Mapping[str, Number]
) -> Stance:
    """A stance with the sliders at these values, whatever they were: its pose is kept, and its name says the values.

    Each joint keeps its turn, offset and scale of the pose against the modelled pose, as if it were posed after it was
    slid: a node is offset · rotation · scale, so R S becomes R_slid Q S_slid, where the pose turns by Q.

    Raises:
        ArgumentError: see `slid_locals`.

    Proof: tests/body/stances/test_slid_stance.py
    """
    moved = {name: float(value) for name, value in values.items() if value}
    local = slid_locals(skeleton, sliders, moved)
    still = stance.worlds if stance.still is None else stance.still
    posed, modelled = skeleton.local(still), modelled_locals(skeleton)
    turns, scales, offsets = zip(*(_parts(one) for one in (modelled, posed, local)))
    linear = turns[2] @ (turns[0].transpose(0, 2, 1) @ turns[1]) * (scales[2] * scales[1] / scales[0])[:, None, :]
    made = local.copy()
    made[:, :3, :3], made[:, :3, 3] = linear, offsets[2] + offsets[1] - offsets[0]
    words = slider_words(moved, sliders)
    name = ", ".join(part for part in ("" if stance.pose == AS_MODELLED else stance.pose, words) if part)
    worlds = skeleton.world(made) if moved else still
    return Stance(name or AS_MODELLED, worlds, stance.origin, stance.pose, moved, still)


def slider_words(values: Mapping[str, Number], sliders: Sequence[JointSlider]) -> str:
    """`arm_length high, height low`; a value between the ends as a number."""
    ends = {slider.name: {value: word for word, value in slider.ends.items()} for slider in sliders}
    return ", ".join(f"{name} {ends[name].get(float(value), f'{value:.3g}')}" for name, value in values.items())


def _parts(
    local: Float[np.ndarray, "J 4 4"],
) -> tuple[Float[np.ndarray, "J 3 3"], Float[np.ndarray, "J 3"], Float[np.ndarray, "J 3"]]:
    """Rotation, scale and offset of local transforms."""
    scale = np.linalg.norm(local[:, :3, :3], axis=1)
    return local[:, :3, :3] / scale[:, None, :], scale, local[:, :3, 3]


def slid_by_hand(
    skeleton: Skeleton,
    sliders: Sequence[JointSlider],
    values: Mapping[str, Number],
    quaternions: Mapping[str, Sequence[float]],
) -> Float[np.ndarray, "J 4 4"]:
    """Joint-to-world transforms with sliders at their values and joints turned by quaternions x, y, z, w, (J, 4, 4).

    Raises:
        ArgumentError: a name is no joint, a quaternion has no length, or see `slid_locals`.
    """
    turned_worlds(skeleton, quaternions)  # refuses what is no turn of a joint
    worlds, turns = modelled_worlds(skeleton), {}
    for name, quaternion in quaternions.items():
        joint = skeleton.names.index(name)
        axes = own_axes(worlds[joint])
        turns[joint] = axes @ Rotation.from_quat(np.array(quaternion)).as_matrix() @ axes.T
    return slid_worlds(skeleton, sliders, values, turns)
