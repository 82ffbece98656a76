"""Skin weights and named regions of the demo body, from the parts that own each vertex.

A part knows its bones and where along its axis one hands over to the next; so an arm vertex never weighs a torso
joint except where arm and torso are one surface. A few steps of diffusion over the surface make the weights smooth.
"""

from itertools import pairwise

import numpy as np
from jaxtyping import Bool

from dressform.arrays import Faces, Points, VertexScalars
from dressform.body.skeleton import Skeleton, Skin
from dressform.demo.body_carry import DiffusionStep
from dressform.demo.body_field import Field, memberships
from dressform.demo.body_parts import FINGERS, FieldPart
from dressform.mesh.geometry import vertex_normals

REACH = 0.008
"""Reach of the weights' diffusion, metres."""
TRUNK = ("root", "pelvis", "spine_1", "spine_2", "spine_3", "clavicle_l", "clavicle_r")
UNDERBUST = 0.25
"""Lower border of the chest, as a share of the way from the joint `spine_2` to `spine_3`."""
LIMBS = ("upper_arm", "forearm", "hand", "thigh", "shin", "foot")


def skin_of(field: Field, all_parts: list[FieldPart], joints: tuple[str, ...], vertices: Points, faces: Faces) -> Skin:
    """Smooth skin weights, at most four joints a vertex."""
    owned, places = memberships(field, vertices, widen=2.0)
    dense = np.zeros((len(vertices), len(joints)))
    for index, part in enumerate(all_parts):
        shares = _shares(part, places[:, index])
        for bone, share in zip(part.bones, shares):
            name = f"{bone}_{part.side}" if part.side and f"{bone}_{part.side}" in joints else bone
            dense[:, joints.index(name)] += owned[:, index] * share
    return Skin.from_dense(DiffusionStep(vertices, faces, reach=REACH)(dense))


def _shares(part: FieldPart, place: VertexScalars) -> list[VertexScalars]:
    """Weight of each bone of a part at places along its axis; they sum to 1."""
    passed = [np.ones_like(place)]
    for joint in part.joints:
        t = np.clip((place - joint) / part.blend + 0.5, 0.0, 1.0)
        passed.append(t * t * (3.0 - 2.0 * t))
    passed.append(np.zeros_like(place))
    return [before * (1.0 - after) for before, after in pairwise(passed)]


def regions_of(
    field: Field, all_parts: list[FieldPart], skeleton: Skeleton, skin: Skin, vertices: Points, faces: Faces
) -> dict[str, Bool[np.ndarray, " B"]]:
    """Named vertex masks. The body's regions cover it without overlap; those of digits lie inside hands and feet."""
    main = np.array(skeleton.names)[skin.joints[np.arange(len(vertices)), skin.weights.argmax(axis=1)]]
    owner = np.array([part.name for part in all_parts])[memberships(field, vertices)[0].argmax(axis=1)]
    height = dict(zip(skeleton.names, skeleton.positions[:, 1]))
    front = vertex_normals(vertices, faces)[:, 2] > 0.0
    trunk = np.isin(main, TRUNK)
    above_waist = vertices[:, 1] > height["spine_2"] + UNDERBUST * (height["spine_3"] - height["spine_2"])
    above_hips = vertices[:, 1] > height["pelvis"]
    seat = trunk & (owner == "buttock")
    result = {
        "head": main == "head",
        "neck": main == "neck",
        "chest": trunk & above_waist & front,
        "back": trunk & above_hips & ~front & ~seat,
        "belly": trunk & above_hips & ~above_waist & front,
        "hips": trunk & ~above_hips & ~seat,
        "seat": seat,
    }
    digits = {}
    for side in ("l", "r"):
        for finger in FINGERS:
            digits[f"{finger}_{side}"] = np.isin(main, [f"{finger}_1_{side}", f"{finger}_2_{side}"])
        digits[f"toes_{side}"] = main == f"toes_{side}"
        for limb in LIMBS:
            result[f"{limb}_{side}"] = main == f"{limb}_{side}"
        for finger in FINGERS:
            result[f"hand_{side}"] |= digits[f"{finger}_{side}"]
        result[f"foot_{side}"] |= digits[f"toes_{side}"]
    return result | digits
