"""Which joints carry each vertex of a cloth: its own weights, or one of several ways to take them from the body."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float
from scipy.sparse import csr_array

from dressform.body.body import Body
from dressform.body.skeleton import Skin
from dressform.calls import likely
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.fit.own_joints import MatchedJoints, match_joints, matching_notes
from dressform.garment.following import (
    HEAVIEST,
    LIFTED,
    NEAREST_PART,
    NO_JOINTS,
    ONE_JOINT,
    OWN,
    SMOOTHED,
    Following,
)
from dressform.garment.garment import Garment
from dressform.lift.inpaint import smoothed_skin
from dressform.lift.lift import Lift
from dressform.lift.nearest_part import nearest_part_skin
from dressform.lift.skin import lift_skin
from dressform.mesh.geometry import vertex_areas


@dataclass(frozen=True)
class ChosenJoints:
    """The joint weights of a cloth.

    Attributes:
        skin: At most four joints a vertex, non-negative, sum 1; None where the body has none or none are wanted.
        kind: Which of `JOINT_WEIGHTS` they are: `lifted` where its own were wanted and it has none that fit.
        notes: What a reader must know of it, one sentence each.
    """

    skin: Skin | None
    kind: str
    notes: tuple[str, ...] = ()


def choose_joints(lift: Lift, following: Following) -> ChosenJoints:
    """The joint weights that a following asks for.

    Args:
        lift: How the garment is bound to its body.
        following: Its `joint_weights` and `part_joints` are used.

    Raises:
        ArgumentError: `part_joints` names a part that the garment lacks, or a joint that the body lacks.

    Proof: tests/fit/test_joint_weights.py
    """
    body = lift.body
    if body.skin is None or body.skeleton is None or following.joint_weights == NO_JOINTS:
        return ChosenJoints(None, NO_JOINTS)
    kind = following.joint_weights
    notes: tuple[str, ...] = ()
    if kind == OWN:
        kind, skin, notes = _own(lift, body.skin)
    else:
        skin = taken_from_body(lift, body.skin, kind)
    return ChosenJoints(_rigid_parts(body, lift.garment, skin, following.part_joints), kind, notes)


def taken_from_body(lift: Lift, skin: Skin, kind: str) -> Skin:
    """Joint weights of one kind that comes from the body's."""
    skeleton = lift.body.skeleton
    assert skeleton is not None
    if kind == SMOOTHED:
        return smoothed_skin(lift, skin)
    if kind == NEAREST_PART:
        return nearest_part_skin(lift, skin, skeleton.parents)
    lifted = lift_skin(lift, skin)
    if kind != ONE_JOINT:
        return lifted
    everywhere = np.full(lift.count, True)
    joint = heaviest_joint(lift.garment, lifted.dense(len(skeleton.names)), everywhere)
    return Skin.from_dense(np.tile(np.eye(len(skeleton.names))[joint], (lift.count, 1)))


def own_joints_of(body: Body, garment: Garment) -> MatchedJoints | None:
    """A garment's own joint weights, where its file has some for the joints of this body; else None."""
    if garment.own_joints is None or body.skeleton is None or body.skin is None:
        return None
    matched = match_joints(garment.own_joints, body.skeleton)
    return matched if matched.is_usable else None


def carried_skin(rows: csr_array, skin: Skin) -> Skin:
    """Joint weights at other vertices: `rows` interpolates from the old ones to the new, (W, G)."""
    return Skin.from_dense(rows @ skin.dense(int(skin.joints.max()) + 1))


def same_skin(one: Skin, other: Skin) -> bool:
    """Whether two sets of joint weights are the same, number by number."""
    return np.array_equal(one.joints, other.joints) and np.array_equal(one.weights, other.weights)


def keeps_own(fit: Fit) -> bool:
    """Whether a fit was made with the garment's own joint weights."""
    return fit.following.joint_weights == OWN and own_joints_of(fit.body, fit.garment) is not None


def heaviest_joint(garment: Garment, dense: Float[np.ndarray, "G J"], chosen: np.ndarray) -> int:
    """The joint that carries most of some vertices, by area."""
    areas = vertex_areas(garment.vertices, garment.faces) + np.finfo(float).tiny
    return int(np.argmax((areas * chosen) @ dense))


def _own(lift: Lift, skin: Skin) -> tuple[str, Skin, tuple[str, ...]]:
    """The garment's own weights, or the lifted ones."""
    matched, lifted = own_joints_of(lift.body, lift.garment), lift_skin(lift, skin)
    skeleton = lift.body.skeleton
    assert skeleton is not None
    if matched is None:
        own = lift.garment.own_joints
        if own is None or own.hangs:
            return LIFTED, lifted, ()
        note = "Its own joint weights are for joints that the body lacks, so the body's are lifted."
        return LIFTED, lifted, (note,)
    loose = matched.dense.sum(axis=1) == 0
    dense = np.where(loose[:, None], lifted.dense(matched.dense.shape[1]), matched.dense)
    return OWN, Skin.from_dense(dense), matching_notes(matched, skeleton)


def on_one_joint(fit: Fit, part_joints: Mapping[str, str]) -> Skin:
    """The joint weights of a fit with some parts on one joint each.

    Raises:
        ArgumentError: as for `choose_joints`, or the fit has no joint weights.
    """
    if fit.skin is None:
        rule, observed = "with joint weights", f"{fit.garment.name!r} without"
        raise ArgumentError.of("on_one_joint", "fit", rule, observed, "Fit it to a body with joints")
    return _rigid_parts(fit.body, fit.garment, fit.skin, part_joints)


def _rigid_parts(body: Body, garment: Garment, skin: Skin, part_joints: Mapping[str, str]) -> Skin:
    """The weights with each part that is to follow one joint on that joint alone."""
    skeleton = body.skeleton
    if not part_joints or skeleton is None:
        return skin
    dense = skin.dense(len(skeleton.names))
    for part, name in part_joints.items():
        if part not in garment.part_names:
            rule = f"parts of {garment.name!r}: {', '.join(garment.part_names)}"
            advice = likely(part, garment.part_names, "Use these names")
            raise ArgumentError.of("choose_joints", "part_joints", rule, repr(part), advice)
        if name != HEAVIEST and name not in skeleton.names:
            rule = f"joints of {body.name!r}: {', '.join(skeleton.names)}"
            advice = likely(name, skeleton.names)
            raise ArgumentError.of("choose_joints", f"part_joints[{part!r}]", rule, repr(name), advice)
        inside = np.zeros(len(garment.vertices), dtype=bool)
        inside[garment.faces[garment.face_parts == garment.part_names.index(part)]] = True
        joint = heaviest_joint(garment, dense, inside) if name == HEAVIEST else skeleton.names.index(name)
        dense[inside] = np.eye(len(skeleton.names))[joint]
    return Skin.from_dense(dense)
