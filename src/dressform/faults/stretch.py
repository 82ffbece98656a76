"""Stretch of the cloth's triangles, in absolute terms and relative to the skin under them."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import BodyPoints, Faces, FaceScalars, Points, VertexScalars
from dressform.faults.kernels.stretch import (
    base_frames,
    body_tensors,
    carried_metrics,
    departures,
    face_metrics,
    principal,
)
from dressform.faults.percentiles import percentiles
from dressform.faults.results import Stretch
from dressform.mesh.geometry import face_areas, face_normals

FLATTEST = 1e-6
"""A stretch counts as at least this, so that a triangle without area has a finite logarithm."""


@dataclass(frozen=True)
class BaseTriangles:
    """Triangles before they are stretched; see `base_triangles`.

    Attributes:
        faces: (F, 3).
        tangents: Two unit tangents per triangle, zero where it has no area, (F, 2, 3).
        inverse: Inverse of its two sides in these tangents, (F, 3).
        areas: m², (F,).
    """

    faces: Faces
    tangents: Float[np.ndarray, "F 2 3"]
    inverse: Float[np.ndarray, "F 3"]
    areas: FaceScalars


def base_triangles(vertices: Points, faces: Faces) -> BaseTriangles:
    """Tangents and inverse sides of every triangle at the base."""
    points, triangles = np.ascontiguousarray(vertices, dtype=np.float64), np.ascontiguousarray(faces, dtype=np.int64)
    tangents, inverse = base_frames(points, triangles)
    return BaseTriangles(triangles, tangents, inverse, face_areas(vertices, faces))


def metrics(base: BaseTriangles, moved: Points) -> Float[np.ndarray, "F 3"]:
    """FᵀF of each triangle in its base tangents, (F, 3): xx, xy, yy. F maps the base triangle to the moved one."""
    return face_metrics(np.ascontiguousarray(moved, dtype=np.float64), base.faces, base.inverse)


def principal_stretches(
    metric: Float[np.ndarray, "F 3"], *, against: Float[np.ndarray, "F 3"] | None = None
) -> Float[np.ndarray, "F 2"]:
    """Largest and smallest principal stretch of each triangle, (F, 2); 1 and 1 where it has no area on the base.

    Args:
        metric: FᵀF of the cloth, from `metrics`.
        against: Another metric in the same tangents. The result is then the largest and smallest ratio of the lengths
            that both give to one direction, so cloth that grows with the skin has ratios 1. The identity by default.

    Source: singular values of the deformation gradient, [Sander2001] eq. Γ, γ.
    Proof: tests/faults/test_stretch.py::test_simple_shear_has_the_golden_ratio
    """
    return principal(metric, np.tile([1.0, 0.0, 1.0], (len(metric), 1)) if against is None else against)


def departure(metric: Float[np.ndarray, "F 3"], skin: Float[np.ndarray, "F 3"]) -> FaceScalars:
    """How far each triangle lengthens or shortens beyond both what the skin does and its own length, |ln|, (F,).

    Cloth may follow the skin, keep its own lengths, or do anything between: max over the directions u of the distance
    of ln |F u| from the interval between 0 and ln |F_skin u|. A stiff cap on a finger that bends keeps its lengths
    while the skin folds under it, and nobody sees that as stretched cloth.

    Args:
        metric: FᵀF of the cloth, from `metrics`.
        skin: That of the skin under it in the same tangents, from `skin_metrics`.

    Source: our own. Proof: tests/faults/test_stretch.py::test_the_departure_is_the_largest_over_all_directions
    """
    return departures(np.ascontiguousarray(metric), np.ascontiguousarray(skin))


@dataclass(frozen=True)
class SkinStretch:
    """Data that carries the body's own stretch to a garment; see `skin_stretch`.

    Attributes:
        base: The body's triangles.
        normals: Their unit normals, (F, 3).
        chosen: The triangles around the feet, (N,).
        corners: Their corners among `vertices`, (N, 3).
        count: Number of body vertices under the feet.
        feet: The three of these vertices under each cloth vertex, (G, 3).
        barycentric: Where in that triangle the foot is, (G, 3).
    """

    base: BaseTriangles
    normals: Float[np.ndarray, "F 3"]
    chosen: Int[np.ndarray, " N"]
    corners: Int[np.ndarray, "N 3"]
    count: int
    feet: Int[np.ndarray, "G 3"]
    barycentric: Float[np.ndarray, "G 3"]


def skin_stretch(
    vertices: BodyPoints, faces: Faces, foot_faces: Int[np.ndarray, " G"], barycentric: Float[np.ndarray, "G 3"]
) -> SkinStretch:
    """Choose the body triangles whose stretch reaches a garment's feet: those around the corners of each foot."""
    base = base_triangles(vertices, faces)
    corners = base.faces[foot_faces]
    used = np.zeros(len(vertices), dtype=bool)
    used[corners] = True
    chosen = np.flatnonzero(used[base.faces].any(axis=1) & (base.areas > 0))
    touched, compact = np.unique(np.concatenate([base.faces[chosen].ravel(), corners.ravel()]), return_inverse=True)
    split = 3 * len(chosen)
    return SkinStretch(
        base,
        face_normals(vertices, faces),
        chosen,
        np.ascontiguousarray(compact[:split].reshape(-1, 3)),
        len(touched),
        np.ascontiguousarray(compact[split:].reshape(-1, 3)),
        np.ascontiguousarray(barycentric),
    )


def skin_metrics(skin: SkinStretch, cloth: BaseTriangles, body: BodyPoints) -> Float[np.ndarray, "F 3"]:
    """The body's FᵀF at the feet of every cloth triangle, in that triangle's base tangents, (F, 3).

    FᵀF of the body's triangles, 1 along their normals, is averaged by area around each body vertex, interpolated to
    the feet, averaged over the three corners of the cloth triangle and restricted to its plane.
    """
    base = skin.base
    points = np.ascontiguousarray(body, dtype=np.float64)
    metric = face_metrics(points, base.faces[skin.chosen], base.inverse[skin.chosen])
    tensors = body_tensors(metric, skin.chosen, skin.corners, base.areas, base.tangents, skin.normals, skin.count)
    return carried_metrics(tensors, skin.feet, skin.barycentric, cloth.faces, cloth.tangents)


def log_stretch(stretches: Float[np.ndarray, "F 2"]) -> FaceScalars:
    """The larger |ln| of both principal stretches, (F,)."""
    return np.maximum(np.log(np.maximum(stretches[:, 0], FLATTEST)), -np.log(np.maximum(stretches[:, 1], FLATTEST)))


def mean_at_vertices(base: BaseTriangles, values: FaceScalars, count: int) -> VertexScalars:
    """Mean by area over the triangles around each of `count` vertices, (V,); 0 where there are none."""
    corners, weights = base.faces.ravel(), np.repeat(base.areas, 3)
    totals = np.bincount(corners, weights=weights, minlength=count)
    sums = np.bincount(corners, weights=weights * np.repeat(values, 3), minlength=count)
    return np.divide(sums, totals, out=np.zeros(count), where=totals > 0)


def measure_stretch(base: BaseTriangles, stretches: Float[np.ndarray, "F 2"], relative: FaceScalars) -> Stretch:
    """Sander's norms, Green strain, symmetric Dirichlet energy and percentiles, over the area of the base body.

    `relative` is each triangle's `departure` from the skin.

    L² = (Σ A (Γ² + γ²) / 2 / Σ A)^½, L∞ = max Γ, Green strain (σ² − 1) / 2, Dirichlet Σ A (Σ σ² + σ⁻²) / Σ A.

    Source: [Sander2001]; symmetric Dirichlet energy as libigl defines it. Proof: tests/faults/test_stretch.py
    """
    areas = base.areas
    total = areas.sum()
    if not total > 0:
        return Stretch(1.0, 1.0, 0.0, 0.0, 0.0, 4.0)
    longest, shortest = stretches[:, 0] ** 2, stretches[:, 1] ** 2
    energy = longest + shortest + 1.0 / np.maximum(longest, FLATTEST**2) + 1.0 / np.maximum(shortest, FLATTEST**2)
    (log_p99,) = percentiles(log_stretch(stretches), areas, (99.0,))
    (relative_p99,) = percentiles(relative, areas, (99.0,))
    (green_p99,) = percentiles(0.5 * np.maximum(np.abs(longest - 1.0), np.abs(1.0 - shortest)), areas, (99.0,))
    return Stretch(
        l2=float(np.sqrt(areas @ (longest + shortest) / (2.0 * total))),
        linf=float(stretches[areas > 0, 0].max()),
        log_p99=log_p99,
        relative_p99=relative_p99,
        green_p99=green_p99,
        dirichlet=float(areas @ energy / total),
    )
