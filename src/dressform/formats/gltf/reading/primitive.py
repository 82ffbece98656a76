"""One glTF primitive as arrays, in its own space [glTF2 3.7.2]."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.formats.gltf.accessors import accessor_count, read_floats, read_integers
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.schema import Primitive

TRIANGLES, TRIANGLE_STRIP, TRIANGLE_FAN = 4, 5, 6
COLOUR_CHANNELS = "rgba"
FIRST_SET = 0


@dataclass(frozen=True)
class Stored:
    """A primitive in its own space.

    Attributes:
        positions: (N, 3).
        faces: (F, 3).
        deltas: One displacement field per morph target, each (N, 3); None where a target moves no position.
        joints: Joint indices into the skin, (N, W), or None.
        weights: Joint weights as stored, (N, W), or None.
        scalars: Per-vertex numbers by attribute name, each (N,).
    """

    positions: Float[np.ndarray, "N 3"]
    faces: Int[np.ndarray, "F 3"]
    deltas: tuple[Float[np.ndarray, "N 3"] | None, ...]
    joints: Int[np.ndarray, "N W"] | None
    weights: Float[np.ndarray, "N W"] | None
    scalars: dict[str, Float[np.ndarray, " N"]]


def is_surface(primitive: Primitive) -> bool:
    """Whether the primitive draws triangles (not points or lines)."""
    return primitive.mode in (TRIANGLES, TRIANGLE_STRIP, TRIANGLE_FAN) and "POSITION" in primitive.attributes


def read_primitive(document: Document, primitive: Primitive, place: str) -> Stored:
    """Decode a primitive that `is_surface`.

    Raises:
        FileError: counts differ between attributes or targets and positions, or an index is out of range.
    """
    positions = read_floats(document, primitive.attributes["POSITION"], f"{place}.POSITION", ("VEC3",), in_buffer=True)
    count = len(positions)
    for name, index in primitive.attributes.items():
        found = accessor_count(document, index, f"{place}.{name}")
        if found != count:
            raise document.error(f"{place}.{name}", f"has {found} elements for {count} positions")
    deltas = tuple(
        _read_target(document, target, count, f"{place}.targets[{number}]")
        for number, target in enumerate(primitive.targets)
    )
    joints, weights = _read_skin(document, primitive, place)
    scalars = _read_scalars(document, primitive, place)
    return Stored(positions, _read_faces(document, primitive, count, place), deltas, joints, weights, scalars)


def _read_faces(document: Document, primitive: Primitive, count: int, place: str) -> Int[np.ndarray, "F 3"]:
    if primitive.indices is None:
        indices = np.arange(count)
    else:
        indices = read_integers(document, primitive.indices, f"{place}.indices", ("SCALAR",))[:, 0]
        if indices.size and indices.max() >= count:
            at = int(np.flatnonzero(indices >= count)[0])
            raise document.error(f"{place}.indices", f"names vertex {indices[at]} of {count} at index {at}")
    if primitive.mode == TRIANGLES:
        if indices.size % 3:
            raise document.error(f"{place}.indices", f"has {indices.size} indices, no multiple of 3")
        return indices.reshape(-1, 3)
    corner = np.arange(max(indices.size - 2, 0))
    if primitive.mode == TRIANGLE_STRIP:
        odd = corner % 2
        faces = np.stack([indices[corner], indices[corner + 1 + odd], indices[corner + 2 - odd]], axis=1)
    else:
        faces = np.stack([indices[corner + 1], indices[corner + 2], indices[np.zeros_like(corner)]], axis=1)
    joined = (faces[:, 0] == faces[:, 1]) | (faces[:, 1] == faces[:, 2]) | (faces[:, 2] == faces[:, 0])
    return faces[~joined]  # strips repeat vertices to jump; such triangles are meant to vanish


def _read_target(document: Document, target: dict[str, int], count: int, place: str) -> Float[np.ndarray, "N 3"] | None:
    if "POSITION" not in target:
        return None
    found = accessor_count(document, target["POSITION"], place)
    if found != count:
        raise document.error(place, f"moves {found} vertices, the base has {count}", "Export base and morphs together")
    return read_floats(document, target["POSITION"], f"{place}.POSITION", ("VEC3",))


def _read_skin(
    document: Document, primitive: Primitive, place: str
) -> tuple[Int[np.ndarray, "N W"] | None, Float[np.ndarray, "N W"] | None]:
    joints, weights = [], []
    number = FIRST_SET
    while f"JOINTS_{number}" in primitive.attributes:
        name = f"WEIGHTS_{number}"
        if name not in primitive.attributes:
            raise document.error(place, f"has JOINTS_{number} but no {name}")
        joint_index = primitive.attributes[f"JOINTS_{number}"]
        joints.append(read_integers(document, joint_index, f"{place}.JOINTS_{number}", ("VEC4",)))
        weights.append(read_floats(document, primitive.attributes[name], f"{place}.{name}", ("VEC4",), in_buffer=True))
        number += 1
    if not joints:
        return None, None
    return np.concatenate(joints, axis=1), np.concatenate(weights, axis=1)


def _read_scalars(document: Document, primitive: Primitive, place: str) -> dict[str, Float[np.ndarray, " N"]]:
    scalars: dict[str, Float[np.ndarray, " N"]] = {}
    for name in sorted(primitive.attributes):
        index = primitive.attributes[name]
        is_own = name.startswith("_") and document.gltf.accessors[index].type == "SCALAR"
        if is_own:
            scalars[name] = read_floats(document, index, f"{place}.{name}", ("SCALAR",))[:, 0]
        elif name.startswith("COLOR_"):
            colour = read_floats(document, index, f"{place}.{name}", ("VEC3", "VEC4"))
            for channel, values in zip(COLOUR_CHANNELS, colour.T):
                scalars[f"{name}.{channel}"] = values.copy()
    return scalars
