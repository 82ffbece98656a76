"""The range of each slider, in the `extras` of a mesh: what a wearer may reach travels with the targets."""

import math
from collections.abc import Iterable, Mapping
from typing import Any

from dressform.body.range import LARGEST_WEIGHT, Range
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.document import Document

RANGES = "morphRanges"
"""In `mesh.extras`: `{"belly": [-0.5, 1.5]}`, the weights from low to high of each morph by its name."""
STILL = "stillMorphs"
"""In `mesh.extras`: names of the body's morphs that do not move the garment, where they have no target."""


def ranges_entry(declared: Range) -> dict[str, list[float]]:
    """What stands in `extras` for a range."""
    ends = zip(declared.names, declared.low, declared.high)
    return {name: [float(low), float(high)] for name, low, high in ends}


def ranges_in(document: Document | None, stored: FileMesh) -> tuple[Mapping[str, tuple[float, float]], tuple[str, ...]]:
    """The ranges that a file tells of the morphs of what was read from it, and a note on each that is no interval.

    `extras` belong to whoever wrote the file: what is not understood is left out and said.
    """
    found: dict[str, tuple[float, float]] = {}
    notes: list[str] = []
    for place, extras in extras_in(document, stored):
        told = extras.get(RANGES)
        if told is None:
            continue
        if not isinstance(told, dict):
            notes.append(f"`{place}.{RANGES}` is no table of intervals by morph; it was left out.")
            continue
        for name, interval in told.items():
            if name in stored.morph_names and is_interval(interval):
                found[name] = (float(interval[0]), float(interval[1]))
            elif name in stored.morph_names:
                notes.append(
                    f"`{place}.{RANGES}.{name}` is {interval!r}, no interval from low to high; it was left out."
                )
    return found, tuple(dict.fromkeys(notes))


def still_in(document: Document | None, stored: FileMesh) -> frozenset[str]:
    """Names of the morphs that a file says do not move it."""
    found: set[str] = set()
    for _, extras in extras_in(document, stored):
        told = extras.get(STILL)
        found.update(name for name in (told if isinstance(told, list) else ()) if isinstance(name, str))
    return frozenset(found)


def is_interval(value: Any) -> bool:
    """Whether a value is a pair of finite numbers from low to high that a range may have."""
    if not (isinstance(value, list | tuple) and len(value) == 2):
        return False
    if not all(isinstance(end, int | float) and not isinstance(end, bool) for end in value):
        return False
    return all(map(math.isfinite, value)) and -LARGEST_WEIGHT <= value[0] <= value[1] <= LARGEST_WEIGHT


def extras_in(document: Document | None, stored: FileMesh) -> list[tuple[str, dict[str, Any]]]:
    """The tables beside the meshes that were read, each with its place: `extras` of glTF, or what stands for them."""
    every: Iterable[tuple[str, Any]] = stored.extras
    if document is not None:
        meshes = dict.fromkeys(piece.mesh for piece in stored.pieces)
        every = ((f"meshes[{mesh}].extras", document.gltf.meshes[mesh].extras) for mesh in meshes)
    return [(place, extras) for place, extras in every if isinstance(extras, dict)]
