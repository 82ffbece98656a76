"""Parts of a body by name: a region, or a joint with all joints below it."""

import numpy as np

from dressform.arrays import VertexScalars
from dressform.body.body import Body
from dressform.errors import ArgumentError


def body_part(body: Body, name: str) -> VertexScalars:
    """How much of each vertex belongs to a region (0 or 1), or to a joint and all joints below it (its weight), (B,).

    Raises:
        ArgumentError: the name is neither a region nor a joint; the valid ones are listed.
    """
    if name in body.regions:
        return body.regions[name].astype(np.float64)
    joints = () if body.skeleton is None or body.skin is None else body.skeleton.names
    if name not in joints:
        raise ArgumentError.of(
            "body_part",
            "name",
            f"a region or joint of {body.name!r}: {', '.join([*body.regions, *joints]) or 'it names none'}",
            repr(name),
            "Use one of these",
        )
    assert body.skeleton is not None
    assert body.skin is not None
    below = np.zeros(len(joints), dtype=bool)
    below[joints.index(name)] = True
    for joint, parent in enumerate(body.skeleton.parents):
        below[joint] |= parent >= 0 and below[parent]
    return body.skin.dense(len(joints)) @ below
