"""Roughness: the pucker index of the skin itself under a morph."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float
from scipy.spatial import cKDTree

from dressform.arrays import VertexScalars
from dressform.audit.moved import MorphAtWeight
from dressform.audit.skin import AuditedSkin
from dressform.faults.percentiles import percentiles
from dressform.faults.pucker import PuckerWindows, pucker_index

LEVEL = 99.0


@dataclass(frozen=True)
class Roughness:
    """How rough a morph makes the skin.

    Attributes:
        p99: 99th percentile by area of the pucker index over the moved skin.
        index: The index at each vertex, 0 where the skin stays or something else explains it, (B,).
    """

    p99: float
    index: VertexScalars


def roughness(
    skin: AuditedSkin, windows: PuckerWindows, moved: MorphAtWeight, explained: Bool[np.ndarray, " B"]
) -> Roughness:
    """Pucker index of the moved skin, without windows that hold a vertex explained by another fault (a rim, a stray).

    Proof: tests/audit/test_audit.py::test_noise_on_a_morph_is_rough_and_nothing_else
    """
    index = pucker_index(windows, skin.vertices + moved.deltas)
    counted = moved.moved[windows.stations]
    if explained.any():
        known = cKDTree(skin.vertices[explained])
        counted &= known.query(skin.vertices[windows.stations])[0] > windows.radii
    (p99,) = percentiles(index[counted], windows.areas[counted], (LEVEL,))
    kept: Float[np.ndarray, " S"] = np.where(counted, index, 0.0)
    return Roughness(p99, kept[windows.owner] * moved.moved)
