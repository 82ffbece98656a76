"""How much skin a morph moves, and how far."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import VertexScalars
from dressform.audit.skin import AuditedSkin
from dressform.faults.percentiles import percentiles
from dressform.faults.rim_step import MOVED_SHARE

TOUCHED = 1e-5  # metres; a vertex that moves by less stays where it was: files round farther than that


@dataclass(frozen=True)
class MorphAtWeight:
    """A morph at one weight.

    Attributes:
        deltas: Displacement there, (B, 3), metres.
        lengths: Its length, (B,), metres.
        touched: Vertices that move at all, (B,).
        moved: Vertices that move by more than a twentieth of the farthest move, (B,).
        area: Area of these, m².
        farthest: Farthest move, metres.
        p95: 95th percentile by area of the moves of that area, metres.
    """

    deltas: Float[np.ndarray, "B 3"]
    lengths: VertexScalars
    touched: Bool[np.ndarray, " B"]
    moved: Bool[np.ndarray, " B"]
    area: float
    farthest: float
    p95: float

    @classmethod
    def of(cls, skin: AuditedSkin, deltas: Float[np.ndarray, "B 3"]) -> "MorphAtWeight":
        """Measure a displacement; vertices that no triangle uses count as still."""
        deltas = deltas * skin.used[:, None]
        lengths = np.linalg.norm(deltas, axis=1)
        farthest = float(lengths.max(initial=0.0))
        touched = lengths > TOUCHED
        moved = touched & (lengths > MOVED_SHARE * farthest)
        (p95,) = percentiles(lengths[moved], skin.areas[moved], (95.0,))
        return cls(deltas, lengths, touched, moved, float(skin.areas[moved].sum()), farthest, p95)
