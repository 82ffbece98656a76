"""Checks before every kernel: arrays have the right layout, and indices stay inside the mesh.

Compiled code does not check what it reads, so arrays are checked once here and nowhere below.
"""

from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Faces, Points
from dressform.calls import quoted
from dressform.errors import ArgumentError

GIVE_ARRAY = "Give such an array"

NUMBER_KINDS: dict[type, tuple[str, str]] = {np.float64: ("iuf", "numbers"), np.int64: ("iu", "whole numbers")}


def read_only(
    function: str, argument: str, values: object, shape: tuple[int | str, ...], kind: type = np.float64
) -> Any:
    """The values as an array of a record, which cannot be written to through it; copied only where needed.

    The caller's own array stays as free as it was.

    Args:
        function: Whose argument it is.
        argument: Which.
        values: What was given.
        shape: Length of each axis; a letter stands for any length.
        kind: `np.float64` or `np.int64`.

    Raises:
        ArgumentError: not numbers of that kind, or an array of another shape.
    """
    kinds, words = NUMBER_KINDS[kind]
    rule = f"{words} in an array of shape ({', '.join(map(str, shape))}{',' if len(shape) == 1 else ''})"
    try:
        found = np.asarray(values)
    except ValueError:  # rows of several lengths
        raise ArgumentError.of(function, argument, rule, f"a {type(values).__name__} of lists", GIVE_ARRAY) from None
    if found.dtype.kind not in kinds and found.size:
        held = f"an array of {found.dtype}" if isinstance(values, np.ndarray) else quoted(values)
        raise ArgumentError.of(function, argument, rule, held, GIVE_ARRAY)
    lengths = zip(found.shape, shape)
    if found.ndim != len(shape) or any(isinstance(asked, int) and asked != has for has, asked in lengths):
        raise ArgumentError.of(function, argument, rule, f"one of shape {found.shape}", GIVE_ARRAY)
    kept: np.ndarray = found.astype(kind, copy=False)
    if kept.flags.writeable:  # else it is that of another record, or its owner froze it
        kept = kept.view()
        kept.flags.writeable = False
    return kept


def flat_points(function: str, argument: str, points: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3"]:
    """The points as contiguous float64, copied only where needed.

    Raises:
        ArgumentError: a coordinate is not finite; the first such row is named.
    """
    flat = np.ascontiguousarray(points, dtype=np.float64)
    if not np.isfinite(flat.sum()) and not np.isfinite(flat).all():  # one cheap pass where all is well
        row = int(np.flatnonzero(~np.isfinite(flat).all(axis=1))[0])
        raise ArgumentError.of(function, argument, "finite", f"{flat[row].tolist()} at row {row}", "Mend these points")
    return flat


def flat_faces(function: str, faces: Faces, count: int) -> Int[np.ndarray, "F 3"]:
    """The triangles as contiguous int64, copied only where needed.

    Raises:
        ArgumentError: a corner is no vertex of 0..count-1; the first such face is named.
    """
    flat = np.ascontiguousarray(faces, dtype=np.int64)
    if flat.size and (flat.min() < 0 or flat.max() >= count):
        row = int(np.flatnonzero(((flat < 0) | (flat >= count)).any(axis=1))[0])
        raise ArgumentError.of(
            function,
            "faces",
            f"indices of {count} vertices (0..{count - 1})",
            f"{flat[row].tolist()} at face {row}",
            "Count vertices from zero, and give the vertices that belong to these faces",
        )
    return flat


def flat_mesh(function: str, vertices: Points, faces: Faces) -> tuple[Float[np.ndarray, "V 3"], Int[np.ndarray, "F 3"]]:
    """Both of the above for one mesh."""
    flat = flat_points(function, "vertices", vertices)
    return flat, flat_faces(function, faces, len(flat))
