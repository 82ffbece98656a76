"""Built-in stances of a human skeleton: every joint to its published limits, everyday stances, strong bends."""

from collections.abc import Iterator, Mapping

from dressform.body.stance import Stance
from dressform.body.stances.motion_table import JointMotion, Motions, built_in_sets, joint_motions
from dressform.body.stances.motions import MIDDLE_KINDS, turns_of
from dressform.body.stances.turns import worlds_of
from dressform.body.stances.zero import ZeroPose
from dressform.errors import ArgumentError

MOTION = "motion"
BUILT_IN = (MOTION, "everyday", "strong")
"""Names of the built-in sets."""


def built_in_stances(zero: ZeroPose, name: str) -> tuple[tuple[Stance, ...], tuple[str, ...]]:
    """The stances of a set, and a note of each that the skeleton lacks a joint for.

    Raises:
        ArgumentError: there is no such set; the valid ones are listed.
    """
    if name not in BUILT_IN:
        raise ArgumentError.of("built_in_stances", "name", f"one of {', '.join(BUILT_IN)}", repr(name), "Use one")
    made, missed = [], []
    for stance, motions, origin in _range_of_motion() if name == MOTION else _of_set(name):
        try:
            turns_of("built_in_stances", zero, dict([next(iter(motions.items()))]))  # what the stance is made for
            made.append(moved_stance("built_in_stances", zero, stance, motions, origin=origin))
        except ArgumentError:
            missed.append(stance)
    notes = (f"No joint was recognised for {', '.join(missed)}: left out.",) if missed else ()
    return tuple(made), notes


def moved_stance(function: str, zero: ZeroPose, name: str, motions: Motions, *, origin: str) -> Stance:
    """A stance by motions of joints; see `motions.turns_of`.

    Raises:
        ArgumentError: a part, motion or joint is not there.
    """
    return Stance(name, worlds_of(zero.human.skeleton, turns_of(function, zero, motions)), origin)


def _of_set(name: str) -> Iterator[tuple[str, Motions, str]]:
    for stance, motions in built_in_sets()[name].items():
        yield stance, motions, f"the built-in set {name}; common practice, no source"


def _range_of_motion() -> Iterator[tuple[str, Motions, str]]:
    """A stance for every row of the table, and two where the sides are apart."""
    for row in joint_motions().values():
        origin = f"limit of joint motion: {row.source}{'' if row.is_read else ', from memory'}"
        words = f"{row.joint} {row.motion}".replace("_", " ")
        for before, part, sign in _sides(row):
            motions = _with_posture({part: {row.motion: sign * row.degrees}}, row, before)
            yield f"{before}{' ' if before else ''}{words} {row.degrees:g}", motions, origin


def _sides(row: JointMotion) -> list[tuple[str, str, float]]:
    """What the stances of a row are called, which part moves, and whether its mirror image is meant."""
    if not row.is_apart:
        return [("", row.joint, 1.0)]
    if row.joint in MIDDLE_KINDS:
        return [("left", row.joint, 1.0), ("right", row.joint, -1.0)]
    return [(side, f"{side}_{row.joint}", 1.0) for side in ("left", "right")]


def _with_posture(moved: Motions, row: JointMotion, side: str) -> Motions:
    """The motion first, then what else is moved for it, on the same side."""
    whole: dict[str, Mapping[str, float | int]] = {part: dict(steps) for part, steps in moved.items()}
    for part, steps in row.posture.items():
        own = f"{side}_{part}" if side and row.joint not in MIDDLE_KINDS else part
        whole[own] = {**whole.get(own, {}), **steps}
    return whole
