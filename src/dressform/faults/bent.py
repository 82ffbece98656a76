"""Bent out of shape: how far the cloth has turned from where it would face if it followed the body smoothly."""

from dataclasses import replace

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import ClothPoints, Faces, Weights
from dressform.fit.fit import Fit
from dressform.garment.following import SMOOTH
from dressform.lift.lift import Lift, make_lift
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.tree import Tree

SAME = 1e-6
"""Cloth that moves this much like the smooth lift, metres, is that lift, up to rounding in a file."""


def lifted_smoothly(fit: Fit, body: Tree) -> Lift:
    """How the garment of a fit would follow smoothly.

    Args:
        fit: The fit.
        body: Triangles of its body.
    """
    return make_lift(fit.body, fit.garment, replace(fit.following, method=SMOOTH), tree=body)


def follows_smoothly(fit: Fit, lift: Lift) -> bool:
    """Whether a fit follows just as a lift would have it, on every shape.

    Both are linear in the weights, so one random mixture of all morphs tells whether they are the same.
    """
    if not np.array_equal(fit.base, fit.garment.vertices):
        return False
    mixture = np.random.default_rng(0).uniform(0.5, 1.0, len(fit.deltas))
    moved = _carried(lift, mixture) - fit.garment.vertices
    return bool(np.abs(moved - np.tensordot(mixture, fit.deltas, axes=1)).max(initial=0.0) < SAME)


def bent(
    lift: Lift, cloth: ClothPoints, faces: Faces, leaders: Int[np.ndarray, " G"], weights: Weights
) -> Float[np.ndarray, " G"]:
    """Angle at each cloth vertex between its normal and that of the same cloth carried smoothly, radians, (G,).

    Args:
        lift: How it would follow smoothly.
        cloth: The cloth on a shape, (G, 3), metres.
        faces: Its triangles.
        leaders: From `seam_leaders`, so that cloth cut along a seam has one normal there.
        weights: The shape.

    Source: our own. Proof: tests/faults/test_bent.py::test_a_roof_is_bent_by_its_slope
    """
    there, meant = (vertex_normals(points, leaders[faces])[leaders] for points in (cloth, _carried(lift, weights)))
    across = np.linalg.norm(np.cross(there, meant), axis=1)
    return np.arctan2(across, np.einsum("gx,gx->g", there, meant))


def _carried(lift: Lift, weights: Weights) -> ClothPoints:
    """Where the smooth lift carries the cloth, (G, 3), metres."""
    moved = np.tensordot(weights, lift.body.deltas, axes=1)
    return lift.garment.vertices + lift.displacements(moved[None])[0]
