"""Fewer targets than morphs: a basis, each morph a fixed sum of its targets, with a bound on what that leaves out.

With D the displacements of K morphs, D ≈ C B: B are the targets in the file, row k of C says how much of each makes
morph k. An engine sets the weight of target j to Σ_k w_k C_kj, which is linear, so it is all that an engine has to do.
Of all bases of a size, that of the singular value decomposition leaves least in the mean [EckartYoung1936], each morph
counted by the width of its range; how far a vertex is off at most over the range follows from what it leaves.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import msgspec
import numpy as np
from jaxtyping import Float

from dressform.body.range import Range
from dressform.errors import FileError
from dressform.formats.gltf.morphs.bound import bound_over_range
from dressform.units import MM_PER_M

BASIS = "basis"
"""Key of the table in the `extras` of a mesh."""
BASIS_SCHEMA = "dressform-basis/1"
BASIS_NAME = "basis "
LARGEST_SHARE = 1e6


@dataclass(frozen=True)
class Basis:
    """Targets of which every morph is a sum.

    Attributes:
        targets: Displacement of each target at weight 1, (R, G, 3), metres.
        shares: How much of each target makes each morph, (K, R).
        error: How far a vertex is off at most at any shape of the range, metres.
    """

    targets: Float[np.ndarray, "R G 3"]
    shares: Float[np.ndarray, "K R"]
    error: float

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the targets."""
        return tuple(f"{BASIS_NAME}{number + 1}" for number in range(len(self.targets)))


def find_basis(deltas: Float[np.ndarray, "K G 3"], declared: Range, *, allowed: float) -> Basis:
    """The smallest basis with which no vertex is off by more than is allowed at any shape of the range.

    Args:
        deltas: Displacement of each morph, (K, G, 3), metres.
        declared: The range of the morphs.
        allowed: How far a vertex may be off, metres.

    Proof: tests/formats/gltf/morphs/test_basis.py
    """
    count = len(deltas)
    ranges = np.stack([declared.low, declared.high], axis=1)
    width = np.maximum(np.abs(ranges).max(axis=1), np.finfo(float).tiny)
    flat = (width[:, None] * deltas.reshape(count, -1)).astype(np.float64)
    # The small Gram matrix of the morphs has the same left vectors as the wide matrix of all coordinates.
    left = np.linalg.eigh(flat @ flat.T)[1][:, ::-1]
    for size in range(count):
        found = _of_size(left[:, :size], flat, width, deltas, ranges)
        if found.error <= allowed:
            return found
    return _of_size(left, flat, width, deltas, ranges)


def _of_size(
    kept: Float[np.ndarray, "K R"],
    flat: Float[np.ndarray, "K D"],
    width: Float[np.ndarray, " K"],
    deltas: Float[np.ndarray, "K G 3"],
    ranges: Float[np.ndarray, "K 2"],
) -> Basis:
    """A basis of given directions; what it leaves out is that of targets rounded to float32, as files hold them."""
    targets = (kept.T @ flat).astype(np.float32).astype(np.float64).reshape(kept.shape[1], *deltas.shape[1:])
    shares = kept / width[:, None]
    lost = np.tensordot(shares, targets, axes=1) - deltas
    return Basis(targets, shares, bound_over_range(np.zeros(deltas.shape[1:]), lost, ranges))


def basis_ranges(basis: Basis, declared: Range) -> dict[str, list[float]]:
    """The lowest and highest weight that each target of a basis can get."""
    ends = np.stack([basis.shares * declared.low[:, None], basis.shares * declared.high[:, None]])
    low, high = ends.min(axis=0).sum(axis=0), ends.max(axis=0).sum(axis=0)
    return {name: [float(a), float(b)] for name, a, b in zip(basis.names, low, high)}


def basis_entry(basis: Basis, morph_names: tuple[str, ...]) -> dict[str, Any]:
    """What stands in `extras` for a basis."""
    return {
        "schema": BASIS_SCHEMA,
        "targets": list(basis.names),
        "morphs": {name: [float(share) for share in row] for name, row in zip(morph_names, basis.shares)},
        "error_mm": basis.error * MM_PER_M,
    }


class StoredBasis(msgspec.Struct, frozen=True):
    """A basis as a file tells it."""

    schema: str
    targets: list[str]
    morphs: dict[str, list[float]]
    error_mm: float


def read_basis(extras: Any, error: Callable[[str, str, str], FileError]) -> StoredBasis | None:
    """The basis in the `extras` of a mesh, None where there is none.

    Raises:
        FileError: it is damaged.
    """
    told = extras.get(BASIS) if isinstance(extras, dict) else None
    if not (isinstance(told, dict) and str(told.get("schema", "")).startswith("dressform-basis/")):
        return None
    advice = "Fit the garment again"
    try:
        found = msgspec.convert(told, StoredBasis)
    except msgspec.ValidationError as damage:
        raise error(BASIS, str(damage).lower(), advice) from None
    if found.schema != BASIS_SCHEMA:
        raise error(f"{BASIS}.schema", f"is {found.schema!r}, not {BASIS_SCHEMA!r}", "Use the version that wrote it")
    for name, shares in found.morphs.items():
        if len(shares) != len(found.targets):
            raise error(f"{BASIS}.morphs.{name}", f"has {len(shares)} shares of {len(found.targets)} targets", advice)
        if not all(math.isfinite(share) and abs(share) <= LARGEST_SHARE for share in shares):
            raise error(f"{BASIS}.morphs.{name}", "holds a share that is no number or beyond measure", advice)
    return found
