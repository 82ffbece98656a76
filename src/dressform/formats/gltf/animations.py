"""Animations of morph weights, widened when a mesh gains morph targets."""

import numpy as np

from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import Document


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
