"""Left and right: whether a morph moves both sides as mirror images."""

import re
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import VertexScalars
from dressform.audit.moved import MorphAtWeight
from dressform.audit.results import BOTH, LEFT, LOPSIDED, OPPOSITE, RIGHT, UNKNOWN
from dressform.audit.skin import AuditedSkin
from dressform.faults.percentiles import percentiles
from dressform.faults.rim_step import MOVED_SHARE
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree

ROUNDS = 4  # in which the mirror finds its place
FAR_OFF = 0.02  # metres; where a mirrored point is farther from the body, there is nothing to compare it with
MIN_COMPARED = 0.5  # share of a morph's motion that must have a mirrored place
ALIKE = 0.1  # asymmetry below which left and right move alike
OPPOSED = np.sqrt(2.0 - ALIKE**2)  # asymmetry above which they move against each other
ONE_SIDE = 0.95  # share of a morph's motion on one side, above which it is meant for that side

_SIDE_WORDS = {"l": "r", "r": "l", "left": "right", "right": "left"}
_PIECES = re.compile(r"[^A-Za-z]+|(?<=[a-z])(?=[A-Z])")


@dataclass(frozen=True)
class Mirror:
    """The point of the base body that is the mirror image of each vertex.

    Attributes:
        corners: Vertices of the triangle that holds that point, (B, 3).
        shares: Where in the triangle, (B, 3).
        gaps: How far the mirrored vertex lies from that point, (B,), metres.
        left: Vertices to the left of the mirror, (B,).
    """

    corners: Int[np.ndarray, "B 3"]
    shares: Float[np.ndarray, "B 3"]
    gaps: VertexScalars
    left: Bool[np.ndarray, " B"]

    @classmethod
    def of(cls, skin: AuditedSkin, tree: Tree) -> "Mirror":
        """Place a plane x = const so that the mirrored body lies nearest to the body itself."""
        flip = np.array([-1.0, 1.0, 1.0])
        plane = float(np.average(skin.vertices[:, 0], weights=skin.areas))
        for _ in range(ROUNDS):
            mirrored = skin.vertices * flip + np.array([2.0 * plane, 0.0, 0.0])
            found = closest(tree, mirrored)
            plane += 0.5 * float(np.average(found.points[:, 0] - mirrored[:, 0], weights=skin.areas))
        return cls(tree.faces[found.faces], found.barycentric, found.distances, skin.vertices[:, 0] > plane)

    def of_field(self, deltas: Float[np.ndarray, "B 3"]) -> Float[np.ndarray, "B 3"]:
        """The mirror image of a displacement."""
        return np.einsum("bc,bcx->bx", self.shares, deltas[self.corners]) * np.array([-1.0, 1.0, 1.0])


@dataclass(frozen=True)
class Symmetry:
    """How a displacement compares with the mirror image of another, or of itself.

    Attributes:
        asymmetry: (∫|d − d'|² / ∫(|d|² + |d'|²))^½: 0 for mirror images, 1 where one side is still, √2 for opposites.
        left_share: Share of ∫|d|² to the left.
        difference: |d − d'|, 0 where there is nothing to compare, (B,), metres.
        p95: Its 95th percentile by area where either moves, metres.
        compared: Share of ∫|d|² that has a mirrored place.
    """

    asymmetry: float
    left_share: float
    difference: VertexScalars
    p95: float
    compared: float

    @property
    def sides(self) -> str:
        """One of `SIDES`."""
        if self.compared < MIN_COMPARED:
            return UNKNOWN
        if self.left_share >= ONE_SIDE or self.left_share <= 1.0 - ONE_SIDE:
            return LEFT if self.left_share >= ONE_SIDE else RIGHT
        if self.asymmetry <= ALIKE:
            return BOTH
        return OPPOSITE if self.asymmetry >= OPPOSED else LOPSIDED


def compare_sides(skin: AuditedSkin, mirror: Mirror, moved: MorphAtWeight, other: Float[np.ndarray, "B 3"]) -> Symmetry:
    """Compare a displacement with the mirror image of `other`: of itself, or of its partner.

    Proof: tests/audit/test_mirror.py::test_asymmetry_of_unequal_sides_is_the_closed_form
    """
    image = mirror.of_field(other)
    has_place = mirror.gaps <= FAR_OFF
    own, theirs = skin.areas * moved.lengths**2, skin.areas * np.einsum("bx,bx->b", image, image)
    difference = np.where(has_place, np.linalg.norm(moved.deltas - image, axis=1), 0.0)
    total = float((own + theirs)[has_place].sum())
    left = float(own[mirror.left].sum())
    lengths = np.maximum(moved.lengths, np.linalg.norm(image, axis=1))
    either = has_place & (lengths > MOVED_SHARE * moved.farthest)
    (p95,) = percentiles(difference[either], skin.areas[either], (95.0,))
    whole = float(own.sum())
    return Symmetry(
        asymmetry=float(np.sqrt((skin.areas * difference**2).sum() / total)) if total > 0 else 0.0,
        left_share=left / whole if whole > 0 else 0.5,
        difference=difference,
        p95=p95,
        compared=float(own[has_place].sum()) / whole if whole > 0 else 1.0,
    )


def partner_by_name(name: str, names: tuple[str, ...]) -> str:
    """The morph whose name differs by its side alone (`arm_l` and `arm_r`, `LeftArm` and `RightArm`), or empty."""
    wanted = _without_side(name)
    if wanted is None:
        return ""
    body, side = wanted
    found = [other for other in names if other != name and _without_side(other) == (body, _SIDE_WORDS[side])]
    return found[0] if len(found) == 1 else ""


def _without_side(name: str) -> tuple[tuple[str, ...], str] | None:
    """The words of a name without its word for a side, and that word; None unless there is exactly one such word."""
    words = [word.lower() for word in _PIECES.split(name) if word]
    at = [index for index, word in enumerate(words) if word in _SIDE_WORDS]
    if len(at) != 1:
        return None
    digits = re.sub(r"[^0-9]", "", name)
    return (*words[: at[0]], "*", *words[at[0] + 1 :], digits), words[at[0]]
