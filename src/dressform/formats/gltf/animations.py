"""Animations that are written: of joints, and of morph weights, widened where a mesh gains targets [glTF2 3.11]."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Float
from scipy.spatial.transform import Rotation

from dressform.body.pose import LINEAR, ROTATION, TRANSLATION
from dressform.errors import ArgumentError
from dressform.fit.corrective import Corrective
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import Document

POINTER = "KHR_animation_pointer"
SAME = 1e-9
"""A property that differs by less from the node at rest gets no channel: metres, and parts of a unit quaternion."""


@dataclass(frozen=True)
class JointClip:
    """An animation by keys of all joints.

    Attributes:
        name: What a person reads.
        times: Moments of the keys, rising, (T,), seconds.
        local: Transform of each joint against its parent at each key, (T, J, 4, 4): turned and moved, not scaled.
    """

    name: str
    times: Float[np.ndarray, " T"]
    local: Float[np.ndarray, "T J 4 4"]

    def __post_init__(self) -> None:
        if len(self.times) != len(self.local) or np.any(np.diff(self.times) <= 0):
            rule, observed = "rising, one per key", f"{len(self.times)} for {len(self.local)} keys"
            raise ArgumentError.of("JointClip", "times", rule, observed, "Give each key its moment")


def add_clip(builder: Builder, clip: JointClip, joints: Sequence[int], rest: Float[np.ndarray, "J 4 4"]) -> None:
    """Append a clip, with a channel for each turn and place that is ever other than at rest; nothing where none is.

    Args:
        builder: The file.
        clip: The clip.
        joints: Node of each joint.
        rest: Transform of each joint against its parent as its node has it, (J, 4, 4).
    """
    times = -1
    samplers: list[dict[str, Any]] = []
    channels: list[dict[str, Any]] = []
    for joint, node in enumerate(joints):
        local = np.concatenate([rest[joint][None], clip.local[:, joint]])
        for path, states in ((TRANSLATION, local[:, :3, 3]), (ROTATION, _quaternions(local[:, :3, :3]))):
            values = states[1:]
            if np.abs(values - states[0]).max() <= SAME:
                continue
            times = _add_times(builder, clip.times) if times < 0 else times
            samplers.append({"input": times, "output": builder.add_values(values), "interpolation": LINEAR})
            channels.append({"sampler": len(samplers) - 1, "target": {"node": node, "path": path}})
    if channels:
        builder.add("animations", {"name": clip.name, "samplers": samplers, "channels": channels})


def add_driven_clip(builder: Builder, corrective: Corrective, *, joint: int, node: int, target: int) -> None:
    """Append a clip that turns a joint and sets the weight of the target that it drives; its time is the angle.

    A second of it is a radian. Only that one weight is set, by KHR_animation_pointer [KHRPointer]; readers that do not
    know the extension turn the joint alone.

    Args:
        builder: The file.
        corrective: The target.
        joint: Node of the joint that drives it.
        node: Node that shows the mesh.
        target: Number of the target.
    """
    driver = corrective.driver
    times, values = np.array([knot for knot in ((0.0, 0.0), *driver.knots) if knot[0] >= 0.0]).T
    times, first = np.unique(times, return_index=True)
    turns = Rotation.from_quat(driver.bind) * Rotation.from_rotvec(times[:, None] * driver.axis)
    keys = _add_times(builder, times)
    pointer = {"pointer": f"/nodes/{node}/weights/{target}"}
    builder.add("animations", {
        "name": corrective.name,
        "samplers": [
            {"input": keys, "output": builder.add_values(_quaternions(turns.as_matrix())), "interpolation": LINEAR},
            {"input": keys, "output": builder.add_values(values[first][:, None]), "interpolation": LINEAR},
        ],
        "channels": [
            {"sampler": 0, "target": {"node": joint, "path": ROTATION}},
            {"sampler": 1, "target": {"path": "pointer", "extensions": {POINTER: pointer}}},
        ],
    })  # fmt: skip
    used = builder.json.setdefault("extensionsUsed", [])
    if POINTER not in used:
        used.append(POINTER)


def _add_times(builder: Builder, times: Float[np.ndarray, " T"]) -> int:
    """The moments, with the bounds that glTF asks for."""
    index, stored = builder.add_values(times[:, None]), times.astype("<f4")
    builder.table("accessors")[index] |= {"min": [float(stored[0])], "max": [float(stored[-1])]}
    return index


def _quaternions(turns: Float[np.ndarray, "T 3 3"]) -> Float[np.ndarray, "T 4"]:
    """Unit quaternions x, y, z, w, each on the side of the one before it."""
    found = Rotation.from_matrix(turns).as_quat()
    for at in range(1, len(found)):
        if found[at] @ found[at - 1] < 0:
            found[at] = -found[at]
    return found


def widen_animations(builder: Builder, document: Document, node: int, *, old: int, new: int) -> None:
    """Give every weight animation of `node` zeros for the targets that were added behind its own.

    Raises:
        FileError: the animation's values are no multiple of the node's targets.
    """
    for number, animation in enumerate(document.gltf.animations):
        for rank, channel in enumerate(animation.channels):
            if channel.target.node != node or channel.target.path != "weights":
                continue
            place = f"animations[{number}].channels[{rank}]"
            if channel.sampler >= len(animation.samplers):
                raise document.error(place, f"names sampler {channel.sampler} of {len(animation.samplers)}")
            values = read_floats(
                document, animation.samplers[channel.sampler].output, place, ("SCALAR",), in_buffer=True
            )
            if len(values) % old:
                raise document.error(place, f"has {len(values)} values for {old} morph targets")
            wide = np.pad(values.reshape(-1, old), ((0, 0), (0, new - old)))
            entry = builder.table("animations")[number]
            sampler = {**entry["samplers"][channel.sampler], "output": builder.add_values(wide.reshape(-1, 1))}
            entry["samplers"].append(sampler)
            entry["channels"][rank]["sampler"] = len(entry["samplers"]) - 1


def retarget_weights(builder: Builder, *, old_node: int, new_node: int) -> None:
    """Point weight animations at the node that took over the mesh."""
    for animation in builder.table("animations"):
        for channel in animation["channels"]:
            if channel["target"].get("node") == old_node and channel["target"]["path"] == "weights":
                channel["target"]["node"] = new_node


def retarget_expressions(builder: Builder, *, old_node: int, new_node: int) -> None:
    """Point the expressions of an avatar, which bind weights by node and target, at the node that took over the mesh.

    Targets of the file's own stay in front, so their numbers stay right [VRM1].
    """
    expressions = (builder.json.get("extensions") or {}).get("VRMC_vrm", {}).get("expressions", {})
    for kind in expressions.values() if isinstance(expressions, dict) else ():
        for one in kind.values() if isinstance(kind, dict) else ():
            for bind in (one.get("morphTargetBinds") or ()) if isinstance(one, dict) else ():
                if isinstance(bind, dict) and bind.get("node") == old_node:
                    bind["node"] = new_node
