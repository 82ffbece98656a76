"""Repair of rigid patches: the body keeps its morph, the cloth follows a version of it without the jump at the rim."""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float
from scipy.sparse import diags_array

from dressform.arrays import VertexScalars
from dressform.body.body import Body
from dressform.errors import ArgumentError
from dressform.faults.rim_step import RigidPatch, RigidPatches, find_rigid_patches
from dressform.fit.fit import Fit
from dressform.garment.along import distance_along
from dressform.lift.lift import make_lift
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import edge_lengths, vertex_areas
from dressform.mesh.laplacian import cotangent
from dressform.mesh.topology import edges
from dressform.mesh.tree import Tree
from dressform.proof.linear_mesh import linear_body
from dressform.repair.clear.clearance import Clearance, keep_clear
from dressform.repair.cost import Cost, cost_of

SLOPE = 0.2  # metres a metre, to which the jump is laid down: about as steep as smooth morphs of a body are
FULL_REACH = 3.0  # smoothing lengths from the rim within which the field is smoothed fully,
REACH = 6.0  # and beyond which it stays as it is
MIN_LENGTH = 1e-4  # metres; a smoothing length that smooths nothing
MIN_AREA = 0.02  # share of the median vertex area that every vertex weighs at least


@dataclass(frozen=True)
class SmoothedMorph:
    """One morph whose rigid patches no longer show in the cloth.

    Attributes:
        name: Name of the morph.
        shift: Its rigid patches.
        lengths: Smoothing length that follows from each rigid patch's rim, metres.
        moved: Farthest that the smoothed field lies from the body's own at weight 1, metres.
        jump_before: J of the steepest rim, metres a metre.
        jump_after: The same of the smoothed field.
    """

    name: str
    shift: RigidPatches
    lengths: tuple[float, ...]
    moved: float
    jump_before: float
    jump_after: float


@dataclass(frozen=True)
class BlendedRims:
    """A fit that follows smoothed morphs, with the morphs that were smoothed, the cost and the remaining jumps.

    Attributes:
        fit: The repaired fit; the one given where no morph moves a rigid patch.
        morphs: The morphs that move rigid patches.
        cost: What it cost, clearance included.
        clearance: How clearance was kept afterwards; None where this was not requested or nothing was smoothed.
    """

    fit: Fit
    morphs: tuple[SmoothedMorph, ...]
    cost: Cost
    clearance: Clearance | None


def blend_rims(fit: Fit, *, slope: float = SLOPE, clear: bool = False, tree: Tree | None = None) -> BlendedRims:
    """Let the cloth follow a smoothed version of every morph that moves a rigid patch.

    The delta of such a morph changes by the lift of (smoothed − own). The fit keeps ordinary morph targets, and the
    body is not touched. The cloth then lags behind the rigid patch's edge, so clearance should be kept afterwards.

    Args:
        fit: The fit to repair.
        slope: Slope to which a jump is flattened, metres per metre.
        clear: Whether to keep the margin over the body's range afterwards; else that is left to the caller.
        tree: The body's triangles, if already built.

    Raises:
        ArgumentError: `slope` is not positive.

    Proof: tests/repair/test_blend_rims.py
    """
    body = fit.body
    if not slope > 0:
        raise ArgumentError.of("blend_rims", "slope", "positive", f"{slope:g}", "Give metres a metre, as 0.2")
    shifts = {k: find_rigid_patches(body.vertices, body.faces, delta) for k, delta in enumerate(body.deltas)}
    faulty = {k: shift for k, shift in shifts.items() if shift.found}
    if not faulty:
        return BlendedRims(fit, (), cost_of(fit, fit), None)
    lift = make_lift(body, fit.garment, fit.following, tree=tree)
    smoothed = {k: without_jumps(body, body.deltas[k], shift.rigid_patches, slope=slope) for k, shift in faulty.items()}
    deltas = fit.deltas.copy()
    deltas[list(faulty)] += lift.displacements(np.stack([smoothed[k] - body.deltas[k] for k in faulty]))
    repaired, clearance = replace(fit, deltas=deltas), None
    if clear:
        clearance = keep_clear(repaired, linear_body(body))
        repaired = clearance.fit
    morphs = tuple(_told(body, k, shift, smoothed[k], slope) for k, shift in faulty.items())
    return BlendedRims(repaired, morphs, cost_of(fit, repaired), clearance)


def smoothing_length(rigid_patch: RigidPatch, *, slope: float = SLOPE) -> float:
    """ℓ = max(spacing, step / (4 slope)), metres: at least the rim's own width, and longer for a higher jump.

    A straight jump s under (1 − ℓ² ∂²)⁻² becomes a ramp whose steepest slope is s / (4 ℓ): its kernel is
    (1 + |x|/ℓ) exp(−|x|/ℓ) / (4 ℓ). The radius of that kernel, its standard deviation, is 2 ℓ.
    """
    return max(rigid_patch.spacing, rigid_patch.step / (4.0 * slope))


def without_jumps(
    body: Body, delta: Float[np.ndarray, "B 3"], rigid_patches: tuple[RigidPatch, ...], *, slope: float = SLOPE
) -> Float[np.ndarray, "B 3"]:
    """The displacement smoothed around the rims of the rigid patches by two implicit steps of heat flow on the body.

    Each step solves (K + M/ℓ²) u = (M/ℓ²) d: K the cotangent Laplacian, M the lumped areas. ℓ is the patch's within
    3 ℓ of the rim and falls to nothing at 6 ℓ, so that a morph is left alone away from its rigid patches. Linear in
    `delta`.

    Proof: tests/repair/test_blend_rims.py::test_a_straight_jump_becomes_the_ramp_of_the_kernel
    """
    lengths = np.full(len(body.vertices), MIN_LENGTH)
    for rigid_patch in rigid_patches:
        lengths = np.maximum(lengths, _lengths_around(body, rigid_patch, smoothing_length(rigid_patch, slope=slope)))
    areas = vertex_areas(body.vertices, body.faces)
    owned = areas[areas > 0]
    pull = np.maximum(areas, MIN_AREA * float(np.median(owned)))[:, None] / lengths[:, None] ** 2
    factor = Factor(cotangent(body.vertices, body.faces) + diags_array(pull[:, 0]))
    return factor.solve(pull * factor.solve(pull * delta))


def _lengths_around(body: Body, rigid_patch: RigidPatch, length: float) -> VertexScalars:
    """Smoothing length of every vertex by its distance from one rigid patch's rim, metres, (B,)."""
    inside = np.zeros(len(body.vertices), dtype=bool)
    inside[rigid_patch.vertices] = True
    pairs = edges(body.faces)
    rim = np.zeros(len(inside), dtype=bool)
    rim[pairs[inside[pairs[:, 0]] != inside[pairs[:, 1]]]] = True
    distance = distance_along(body.vertices, body.faces, rim, within=REACH * length)
    share = np.clip((distance / length - FULL_REACH) / (REACH - FULL_REACH), 0.0, 1.0)
    return length * (1.0 - share * share * (3.0 - 2.0 * share))


def _told(body: Body, morph: int, shift: RigidPatches, field: Float[np.ndarray, "B 3"], slope: float) -> SmoothedMorph:
    """The report on one morph."""
    pairs = edges(body.faces)
    gradients = np.linalg.norm(field[pairs[:, 0]] - field[pairs[:, 1]], axis=1) / edge_lengths(body.vertices, pairs)
    left = []
    for rigid_patch in shift.rigid_patches:
        ends = np.isin(pairs, rigid_patch.vertices)
        left.append(float(gradients[ends[:, 0] != ends[:, 1]].mean()))
    return SmoothedMorph(
        body.morph_names[morph],
        shift,
        tuple(smoothing_length(rigid_patch, slope=slope) for rigid_patch in shift.rigid_patches),
        float(np.linalg.norm(field - body.deltas[morph], axis=1).max()),
        max(rigid_patch.jump for rigid_patch in shift.rigid_patches),
        max(left),
    )
