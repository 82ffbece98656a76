"""The small TOML beside a body that declares the range a wearer may reach.

    [range]
    belly = [-0.5, 1.5]

Morphs that are not named keep [0, 1]. The same file may declare sliders that move joints, and joints that follow
morphs: see `moving/joint_sliders_file.py`.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import tomli_w

from dressform.body.range import LARGEST_WEIGHT, Range
from dressform.errors import FileError
from dressform.formats.guards.toml import converted, read_toml

SUFFIX = ".range.toml"


class RangeFile(msgspec.Struct, forbid_unknown_fields=True):
    """The file, key by key; what moves joints is read apart, as it needs the joints."""

    range: dict[str, tuple[float, float]] | msgspec.UnsetType = msgspec.UNSET
    joint_sliders: dict[str, dict[str, Any]] = {}
    joint_moves: dict[str, dict[str, tuple[float, float, float]]] = {}


def range_beside(body_path: Path) -> Path:
    """Where the range of a body is looked for: `body.glb` has `body.range.toml`."""
    return body_path.with_name(body_path.stem + SUFFIX)


def read_range(path: Path, morph_names: tuple[str, ...]) -> Range:
    """The declared range in the body's morph order.

    Raises:
        FileError: not TOML, another key than those of `RangeFile`, an unknown morph (the valid ones are listed), or no
            interval.
    """
    declared = range_tree(path).range or {}
    whole = Range.unit(morph_names)
    low, high = whole.low.copy(), whole.high.copy()
    for name, interval in declared.items():
        if name not in morph_names:
            known = ", ".join(morph_names) or "none"
            raise FileError.of(path, f"range.{name}", "is no morph of this body", f"Its morphs are: {known}")
        low[morph_names.index(name)], high[morph_names.index(name)] = interval
        if not -LARGEST_WEIGHT <= interval[0] <= interval[1] <= LARGEST_WEIGHT:
            said = f"[{interval[0]:g}, {interval[1]:g}]"
            rule = f"not a finite interval from low to high within ±{LARGEST_WEIGHT:,.0f}"
            raise FileError.of(path, f"range.{name}", f"is {said}, {rule}", "Correct the interval of this morph")
    return Range(morph_names, low, high)


def range_tree(path: Path) -> RangeFile:
    """The file as it is written.

    Raises:
        FileError: not TOML, an unknown key or a value of another type, or none of the keys.
    """
    advice = "Write [range] and below it lines such as belly = [-0.5, 1.5]"
    found = converted(path, "", read_toml(path), RangeFile, advice=advice)
    if found.range is msgspec.UNSET and not (found.joint_sliders or found.joint_moves):
        raise FileError.of(path, "", "lacks the key range", advice)
    return found


def range_of(
    body_path: Path,
    range_file: Path | None,
    morph_names: tuple[str, ...],
    *,
    told: Mapping[str, tuple[float, float]] | None = None,
) -> Range:
    """The range from the file given, else from the one beside the body, else what the body itself tells, else [0, 1].

    Args:
        body_path: The body's file.
        range_file: A file that was named.
        morph_names: Its morphs.
        told: What the body's file itself says of some of them.

    Raises:
        FileError: see `read_range`.
    """
    path = range_file or range_beside(body_path)
    if (range_file is None and not path.is_file()) or range_tree(path).range is msgspec.UNSET:
        ends = [(told or {}).get(name, (0.0, 1.0)) for name in morph_names]
        return Range(morph_names, *np.array(ends, dtype=np.float64).reshape(-1, 2).T.copy())
    return read_range(path, morph_names)


def write_range(declared: Range) -> bytes:
    """The TOML text of a range, every morph named."""
    ends = zip(declared.names, declared.low, declared.high)
    return tomli_w.dumps({"range": {name: [float(low), float(high)] for name, low, high in ends}}).encode()
