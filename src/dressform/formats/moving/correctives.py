"""The table of corrective targets in the `extras` of a fitted garment's mesh, `docs/correctives.md`."""

from collections.abc import Callable, Sequence
from typing import Any

import msgspec
import numpy as np

from dressform.body.skeleton import Skeleton
from dressform.body.stances.driver import Driver, modelled_turn
from dressform.errors import ArgumentError, FileError
from dressform.fit.corrective import Corrective
from dressform.units import MM_PER_M

CORRECTIVES = "correctives"
"""Key of the table in the `extras`."""
CORRECTIVES_SCHEMA = "dressform-correctives/1"
SAME_BIND = 1e-3
"""What the rotation of a joint in the modelled pose may differ from the table's: rounding in two files."""
MOST = 500


class CorrectiveRecord(msgspec.Struct, frozen=True):
    """One target: its place among the targets of the mesh, and what drives it; angles in radians."""

    target: str
    index: int
    joint: str
    node: int
    axis: list[float]
    bind: list[float]
    knots: list[list[float]]
    largest_mm: float


class _Table(msgspec.Struct, frozen=True):
    schema: str
    targets: list[CorrectiveRecord]


def correctives_table(
    correctives: Sequence[Corrective], joints: Sequence[str], nodes: Sequence[int], names: Sequence[str]
) -> dict[str, object]:
    """The table, the target that moves farthest first.

    Args:
        correctives: The targets.
        joints: Names of the joints.
        nodes: Node of each joint in the file.
        names: Names of all targets of the mesh, in order.
    """
    records = [
        CorrectiveRecord(
            one.name,
            names.index(one.name),
            joints[one.driver.joint],
            nodes[one.driver.joint],
            one.driver.axis.tolist(),
            one.driver.bind.tolist(),
            [list(knot) for knot in one.driver.knots],
            float(one.lengths.max(initial=0.0)) * MM_PER_M,
        )
        for one in correctives
    ]
    return {"schema": CORRECTIVES_SCHEMA, "targets": [msgspec.to_builtins(one) for one in records]}


def read_correctives(
    extras: object, skeleton: Skeleton, error: Callable[..., FileError]
) -> tuple[tuple[str, Driver], ...]:
    """Names of the corrective targets of a mesh and what drives them; none where there is no table.

    Args:
        extras: The `extras` of the mesh.
        skeleton: The body's joints; those of the table are found by name.
        error: Makes the error of the file: place, problem, what to do.

    Raises:
        FileError: the table is damaged, or made for another body.
    """
    if not isinstance(extras, dict) or CORRECTIVES not in extras:
        return ()
    advice = "Repair the garment at its stances again"
    try:
        table = msgspec.convert(extras[CORRECTIVES], _Table)
    except msgspec.ValidationError as problem:
        raise error(CORRECTIVES, f"is no table of corrective targets: {problem}", advice) from None
    if table.schema != CORRECTIVES_SCHEMA or len(table.targets) > MOST:
        raise error(CORRECTIVES, f"is of schema {table.schema!r} with {len(table.targets)} targets", advice)
    return tuple((one.target, _driver(one, skeleton, error)) for one in table.targets)


def _driver(one: CorrectiveRecord, skeleton: Skeleton, error: Callable[..., FileError]) -> Driver:
    place, body = f"{CORRECTIVES}.{one.target}", "Give the body that the garment was fitted to"
    if one.joint not in skeleton.names or skeleton.parents[skeleton.names.index(one.joint)] < 0:
        raise error(place, f"is driven by {one.joint!r}, no joint of this body below another", body)
    joint = skeleton.names.index(one.joint)
    try:
        knots: list[Any] = [(float(angle), float(value)) for angle, value in one.knots]
        driver = Driver(joint, np.array(one.axis), np.array(one.bind), tuple(knots))
    except (ArgumentError, ValueError) as problem:
        raise error(place, f"has a driver that cannot be: {problem}", "Repair the garment again") from None
    if 1.0 - abs(float(driver.bind @ modelled_turn(skeleton, joint))) > SAME_BIND**2:
        raise error(place, f"has another modelled turn of {one.joint!r} than this body", body)
    return driver
