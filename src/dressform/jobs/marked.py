"""A marked copy of a garment that was checked: what a report says, on the garment itself."""

import tempfile
from collections.abc import Mapping
from pathlib import Path

import numpy as np
from jaxtyping import Float
from scipy.spatial import cKDTree

from dressform.arrays import VertexScalars
from dressform.causes.action import Action
from dressform.errors import ArgumentError
from dressform.faults.fault import Fault, FaultLayer
from dressform.faults.registry import ALL_FAULTS, FAULT_OF, is_on_body
from dressform.fit.fit import Fit
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.marked import Marks, mark
from dressform.formats.load import body_file_of, garment_file_of
from dressform.formats.sources import refuse_sources
from dressform.jobs.check_result import CheckResult
from dressform.leftovers import PLAIN, owned

MOST_SHAPES = 5
NEAR_SKIN = 0.1
"""Skin that shows is told at the cloth nearest to it, no farther away than this, metres."""


def marked(result: CheckResult, path: Path) -> tuple[str, ...]:
    """Write the one garment of a check with its faults on it, see `docs/files.md`.

    Args:
        result: What the check found; the garment and its body were loaded from files.
        path: The `.glb` to write.

    Returns:
        What should be said aloud, one sentence each.

    Raises:
        ArgumentError: the check was of several garments, or of none that could be measured.
        FileError: the file cannot be written; nothing is left half-written.

    Proof: tests/outside/test_marked_copy.py
    """
    refuse_marked(path, len(result.fits))
    ((key, fit),) = result.fits.items()
    refuse_sources([path], [fit])
    marks = _marks(result, key, fit)
    with tempfile.TemporaryDirectory(prefix=owned(PLAIN), ignore_cleanup_errors=True) as folder:
        plain = Path(folder) / path.name
        save_fit(fit, garment_file_of(fit.garment), body_file_of(fit.body), plain)
        write_bytes(path, mark(plain.read_bytes(), path, marks))
    seen = ", ".join(FAULT_OF[name].words for name in marks.shares) or "nothing"
    return (f"Marked on the garment: {seen}; {len(marks.shapes)} worst shapes as targets.",)


def refuse_marked(path: Path | None, count: int) -> None:
    """Refuse to mark several garments in one file.

    Raises:
        ArgumentError: a file was asked for, and there are `count` garments or ways to follow.
    """
    if path is not None and count != 1:
        advice = "Check the one that is to be marked, by one method"
        raise ArgumentError.of("check", "marked", "asked for one garment", f"{count}", advice)


def _marks(result: CheckResult, key: str, fit: Fit) -> Marks:
    """Each fault where it is worst, of those that are at least slight somewhere."""
    prepared = result.wardrobe.worn(fit, under=result.under_of(key))
    shares: dict[str, VertexScalars] = {}
    numbers: dict[str, VertexScalars] = {}
    poses = {one.name: one for one in result.stances}
    for name, row in result.swept.worst().get(key, {}).items():
        fault = FAULT_OF[name]
        if fault.layer is None or row.faults.severities.get(name) in (None, "clean"):
            continue
        look = prepared.look(row.weights, row.stood(poses))
        values = fault.layer.factor * np.abs(fault.layer.field(look))
        if is_on_body(name):
            values = _on_cloth(values, look.body, look.cloth)
        numbers[name] = values
        shares[name] = np.clip(values / _top(fault, fault.layer), 0.0, 1.0)
    actions = result.causes.actions.get(key, ()) if result.causes is not None else ()
    return Marks(fit.base, shares, numbers, _worst_shapes(result, key, fit), _texts(actions))


def _on_cloth(
    values: Float[np.ndarray, " B"], body: Float[np.ndarray, "B 3"], cloth: Float[np.ndarray, "G 3"]
) -> Float[np.ndarray, " G"]:
    """What lies on the skin, at the cloth nearest to it; the worst where several vertices have one nearest."""
    seen = np.flatnonzero(values > 0)
    found = np.zeros(len(cloth))
    if seen.size:
        far, nearest = map(np.asarray, cKDTree(cloth).query(body[seen]))
        near = far < NEAR_SKIN
        np.maximum.at(found, nearest[near], values[seen[near]])
    return found


def _top(fault: Fault, layer: FaultLayer) -> float:
    """The value at which a scale ends, in the layer's unit: where the fault is grave, unless its layer says."""
    return layer.top if layer.top is not None else fault.bands[2] * fault.factor


def _worst_shapes(result: CheckResult, key: str, fit: Fit) -> Mapping[str, Mapping[str, float]]:
    """The shapes at which some fault is worst, by a name that says which, those of the first faults first."""
    found: dict[str, dict[str, float]] = {}
    taken: set[bytes] = set()
    worst = result.swept.worst().get(key, {})
    for fault in ALL_FAULTS:
        row = worst.get(fault.key)
        if row is None or row.faults.severities.get(fault.key) in (None, "clean") or not np.any(row.weights):
            continue
        if row.weights.tobytes() in taken or len(found) == MOST_SHAPES:
            continue
        taken.add(row.weights.tobytes())
        weights = {name: float(weight) for name, weight in zip(fit.morph_names, row.weights) if weight}
        at = f" at {row.faults.stance}" if row.faults.stance else ""
        told = ", ".join(f"{name}={weight:.2g}" for name, weight in weights.items())
        found[f"worst {len(found) + 1}: {fault.words}{at}, {told}"] = weights
    return found


def _texts(actions: tuple[Action, ...]) -> Mapping[str, str]:
    """What to do, one text per action: the best of what was tried, or what it comes from."""
    found = {}
    for action in actions:
        what = action.offered[0].words if action.offered else "nothing that was tried helps without harm"
        found[f"action {action.name}"] = f"{action.where}: {what} (cause: {action.cause}; it lies with {action.owner})"
    return found
