"""The published limits of joint motion and the built-in sets of stances, from the tables beside this module."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

Motions = Mapping[str, Mapping[str, float | int]]
"""Degrees by motion by part: `{"left_elbow": {"flexion": 90}}`, from arms and legs hanging, in the order made."""

MOTION_FILE, SETS_FILE = "joint_motion.toml", "everyday.toml"


@dataclass(frozen=True)
class JointMotion:
    """One row of the table: how far a joint moves in one direction.

    Attributes:
        joint: Kind of part, such as `elbow`.
        motion: Such as `flexion`.
        axis: What the left side turns about in the zero pose; None for fingers and thumb, which have axes of their own.
        degrees: The limit.
        source: Who says so.
        is_read: Whether it was read there, rather than quoted from memory.
        posture: What else is moved for it.
        is_apart: Whether each side has a stance of its own.
    """

    joint: str
    motion: str
    axis: tuple[float, float, float] | None
    degrees: float
    source: str
    is_read: bool
    posture: Motions
    is_apart: bool


@cache
def joint_motions() -> dict[tuple[str, str], JointMotion]:
    """Every row of the table by joint and motion, in the order of the table."""
    tree = _read(MOTION_FILE)
    rows = [
        JointMotion(
            row["joint"],
            row["motion"],
            _axis(row.get("axis")),
            float(row["degrees"]),
            tree["sources"][row["source"]],
            bool(row.get("read", True)),
            row.get("with", {}),
            bool(row.get("apart", False)),
        )
        for row in tree["motions"]
    ]
    return {(row.joint, row.motion): row for row in rows}


@cache
def built_in_sets() -> dict[str, dict[str, Motions]]:
    """Motions by name of the stance, by name of the set."""
    return _read(SETS_FILE)


def motions_of(joint: str) -> list[str]:
    """Motions that a kind of part has."""
    return [motion for kind, motion in joint_motions() if kind == joint]


def joint_kinds() -> list[str]:
    """Kinds of parts that have motions, in the order of the table."""
    return list(dict.fromkeys(kind for kind, _ in joint_motions()))


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("dressform.body.stances").joinpath(name).read_text(encoding="utf-8"))


def _axis(given: list[int] | None) -> tuple[float, float, float] | None:
    return None if given is None else (float(given[0]), float(given[1]), float(given[2]))
