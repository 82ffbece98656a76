"""Repair of cloth with too few vertices: split it only where the body bends through its triangles."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool
from scipy.sparse import csr_array

from dressform.body.shapes import Shape
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import carried_skin, same_skin
from dressform.fit.make import refit
from dressform.garment.garment import Garment
from dressform.repair.bisect import Bisected, bisect
from dressform.repair.faulty import crossed_triangles, patches_with
from dressform.repair.resolution import Resolution, measure_resolution

MAX_ROUNDS = 3  # times that cloth is split and judged again


@dataclass(frozen=True)
class Refined:
    """A fit of finer cloth, how values per vertex or per corner are carried to it, and the cost.

    Attributes:
        fit: The fit of the refined garment; the one given where nothing fails.
        split: The refined mesh and how the old one is carried to it.
        before: The resolution test of the old cloth.
        after: That of the new one.
        removed: Old triangles that failed and of which no piece does any more.
        left: Old triangles of which a piece still fails.
    """

    fit: Fit
    split: Bisected
    before: Resolution
    after: Resolution
    removed: int
    left: int

    @property
    def added(self) -> int:
        """Number of vertices added."""
        return self.split.added

    @property
    def added_per_fault(self) -> float:
        """Vertices added per fault removed; 0 where none was added, infinite where none was removed."""
        if self.added == 0:
            return 0.0
        return self.added / self.removed if self.removed else float("inf")


def refine_faults(fit: Fit, *, shapes: Sequence[Shape] | None = None) -> Refined:
    """`refine` where that cures: in patches of failing triangles through which the body comes on one of the shapes.

    Where the body comes through no triangle, or through no fewer once they are split, the fit comes back as it was:
    finer cloth then costs vertices for nothing, and may even follow worse.

    Args:
        fit: The fit to refine.
        shapes: Shapes to look at; see `measure_resolution`.

    Proof: tests/repair/test_refine_faults.py
    """
    before = measure_resolution(fit, shapes=shapes)
    same = Refined(fit, _unsplit(fit), before, before, 0, int(before.failing.sum()))
    if not before.failing.any():
        return same
    crossed = crossed_triangles(fit, shapes=shapes)
    faulty = patches_with(fit.garment.faces, before.failing, crossed, len(fit.base))
    if not faulty.any():
        return same
    done = refine(fit, shapes=shapes, only=faulty, before=before)
    left = np.unique(done.split.parents[crossed_triangles(done.fit, shapes=shapes)])
    return done if len(left) < int(crossed.sum()) else same


def refine(
    fit: Fit,
    *,
    shapes: Sequence[Shape] | None = None,
    smooth: bool = True,
    max_rounds: int = MAX_ROUNDS,
    only: Bool[np.ndarray, " F"] | None = None,
    before: Resolution | None = None,
) -> Refined:
    """Split the triangles whose resolution index is above 1, and fit the finer cloth.

    ρ² of such a triangle shrinks by its index, so its edges by the root of that. The new garment is lifted afresh, so
    that new vertices stand on feet of their own; strength is interpolated, parts are inherited. What earlier repairs
    changed in base and deltas is interpolated and added. The test is then made again, and repeated on what still fails.

    Args:
        fit: The fit to refine; its following sets the clearance that must remain.
        shapes: Shapes to look at; see `measure_resolution`.
        smooth: Whether new vertices go onto the curve that the cloth's normals describe; else onto the old triangles.
        max_rounds: Times that cloth is split.
        only: Triangles that may be split, (F,); all if left out.
        before: The resolution test of the fit, if it is at hand.

    Proof: tests/repair/test_refine.py
    """
    before = after = measure_resolution(fit, shapes=shapes) if before is None else before
    split, finer = _unsplit(fit), fit
    change = _changes(fit) if before.failing.any() else fit
    for _ in range(max_rounds):
        if not after.failing.any():
            break
        index = after.index if only is None else np.where(only[split.parents], after.index, 0.0)
        if not (index > 1.0).any():
            break
        step = bisect(finer.garment.vertices, finer.garment.faces, index, smooth=smooth)
        split = _after(split, step)
        finer = _refitted(fit, change, split)
        after = measure_resolution(finer, shapes=shapes)
    left = np.zeros(len(fit.garment.faces), dtype=bool)
    left[split.parents[after.failing]] = True
    removed = int((before.failing & ~left).sum())
    return Refined(finer, split, before, after, removed, int(left.sum()))


def refined_garment(garment: Garment, split: Bisected) -> Garment:
    """The garment on its refined mesh: parts inherited, strength and its own joint weights interpolated."""
    strength, own = np.clip(split.rows @ garment.strength, 0.0, 1.0), garment.own_joints
    return replace(
        garment,
        vertices=split.vertices,
        faces=split.faces,
        face_parts=garment.face_parts[split.parents],
        strength=strength,
        own_joints=None if own is None else own.of_dense(split.rows @ own.dense()),
    )


def _unsplit(fit: Fit) -> Bisected:
    """The mesh of a fit as it is."""
    faces = fit.garment.faces
    return bisect(fit.garment.vertices, faces, np.ones(len(faces)))


def _after(first: Bisected, second: Bisected) -> Bisected:
    """Combine two splits into one."""
    return Bisected(
        second.vertices,
        second.faces,
        csr_array(second.rows @ first.rows),
        first.parents[second.parents],
        second.corners @ first.corners[second.parents],
    )


def _changes(fit: Fit) -> Fit:
    """The change that earlier repairs made to the unrepaired fit, as a fit; 0 where there was none.

    Joint weights are those of the fit where a repair chose others, else None.
    """
    plain = refit(fit.body, fit.garment, fit.following)
    same = fit.skin is None or plain.skin is None or same_skin(fit.skin, plain.skin)
    skin = None if same else fit.skin
    return replace(fit, base=fit.base - plain.base, deltas=fit.deltas - plain.deltas, skin=skin)


def _refitted(fit: Fit, change: Fit, split: Bisected) -> Fit:
    """The refined garment, lifted again, with the changes of earlier repairs added."""
    plain = refit(fit.body, refined_garment(fit.garment, split), fit.following)
    count = len(split.vertices)
    deltas = np.array([split.rows @ delta for delta in change.deltas]).reshape(-1, count, 3)
    finer = replace(plain, base=plain.base + split.rows @ change.base, deltas=plain.deltas + deltas)
    if change.skin is None:
        return finer
    return replace(finer, skin=carried_skin(split.rows, change.skin))
