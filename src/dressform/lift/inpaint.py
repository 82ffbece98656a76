"""Joint weights smoothed along the cloth: taken from the skin where it is near, evenly continued elsewhere."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array, diags_array

from dressform.body.skeleton import Skin
from dressform.garment.parts import seam_groups
from dressform.lift.lift import Lift
from dressform.lift.skin import lift_skin
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import vertex_areas, vertex_normals
from dressform.mesh.laplacian import cotangent
from dressform.mesh.topology import adjacency, components

GATE_SHARE = 0.05
"""Skin counts as near within this share of the diagonal of the garment's box,"""
GATE_ANGLE = np.radians(30.0)
"""and where its normal is within this angle of the cloth's."""
LENGTH = 0.05
"""ℓ, metres: over less than this the continued weights are straight, over more they are smooth."""
MIN_AREA = 0.02
"""A vertex owns at least this share of the median area."""
ROUNDS, STEP = 10, 0.2
"""So often each continued weight goes this share of the way to the mean of its neighbours."""


def smoothed_skin(lift: Lift, skin: Skin) -> Skin:
    """The body's joint weights at the cloth, smoothed along it: four of each vertex, non-negative, sum one.

    A vertex matches where its foot is within `GATE_SHARE` of the diagonal and the normals agree within `GATE_ANGLE`; it
    has the weights of its foot. The others minimise wᵀ(K + ℓ² K M⁻¹ K)w with these held, K the cotangent Laplacian and
    M the areas; that energy does not depend on the unit of length. What then lies outside [0, 1] is cut off, and ten
    rounds of averaging round off the seam. A piece of cloth that matches nowhere has lifted weights.

    Source: [Abdrashitov2023]; the length ℓ in metres is ours, theirs depends on the unit.
    Proof: tests/lift/test_inpaint.py
    """
    used = np.unique(skin.joints[skin.weights > 0])
    count = int(skin.joints.max()) + 1
    read = lift.foot_rows @ skin.dense(count)[:, used]
    cloth = _Cloth.of(lift)
    held, pieces = cloth.gathered_mask(matches(lift)), cloth.pieces
    alone = ~np.isin(pieces, pieces[held])
    dense = cloth.gather(read)
    if alone.any():
        dense[alone] = cloth.gather(lift_skin(lift, skin).dense(count)[:, used])[alone]
        held = held | alone
    continued = _continued(cloth, dense, held)
    continued = np.clip(continued, 0.0, None)
    continued /= continued.sum(axis=1, keepdims=True)
    result = np.zeros((lift.count, count))
    result[:, used] = _rounded(cloth, continued, ~held)[cloth.groups]
    return Skin.from_dense(result)


def matches(lift: Lift) -> Bool[np.ndarray, " G"]:
    """Vertices whose foot is near and faces as they do, (G,); an inside-out piece is turned over first."""
    garment, feet = lift.garment, lift.feet
    diagonal = float(np.linalg.norm(np.ptp(garment.vertices, axis=0)))
    across = np.einsum("gx,gx->g", vertex_normals(garment.vertices, garment.faces), feet.normals)
    pieces = components(garment.faces, lift.count)
    facing = np.sign(np.bincount(pieces, weights=across))[pieces]
    near = np.abs(feet.clearance) <= GATE_SHARE * diagonal
    return near & (np.where(facing == 0, 1.0, facing) * across >= np.cos(GATE_ANGLE))


@dataclass(frozen=True)
class _Cloth:
    """The cloth with vertices that coincide as one: their number at each vertex, areas, Laplacian, neighbours."""

    groups: Int[np.ndarray, " G"]
    areas: Float[np.ndarray, " N"]
    stiffness: csr_array
    around: csr_array
    pieces: Int[np.ndarray, " N"]

    @classmethod
    def of(cls, lift: Lift) -> "_Cloth":
        vertices, faces = lift.garment.vertices, lift.garment.faces
        groups = seam_groups(vertices)
        count = int(groups.max(initial=-1)) + 1
        first = np.zeros(count, dtype=np.int64)
        first[groups[::-1]] = np.arange(len(groups))[::-1]
        points, triangles = vertices[first], groups[faces]
        areas = vertex_areas(points, triangles)
        areas = np.maximum(areas, MIN_AREA * float(np.median(areas[areas > 0])))
        graph = adjacency(triangles, count)
        return cls(groups, areas, cotangent(points, triangles), graph, components(triangles, count))

    def gather(self, field: Float[np.ndarray, "G C"]) -> Float[np.ndarray, "N C"]:
        """Means over vertices that coincide."""
        sums = np.zeros((len(self.areas), field.shape[1]))
        np.add.at(sums, self.groups, field)
        return sums / np.bincount(self.groups, minlength=len(self.areas))[:, None]

    def gathered_mask(self, mask: Bool[np.ndarray, " G"]) -> Bool[np.ndarray, " N"]:
        """Where any of the vertices that coincide is marked."""
        return np.bincount(self.groups, weights=mask, minlength=len(self.areas)) > 0


def _continued(
    cloth: _Cloth, dense: Float[np.ndarray, "N C"], held: Bool[np.ndarray, " N"]
) -> Float[np.ndarray, "N C"]:
    """The weights with those that are not held continued from the held ones."""
    free = np.flatnonzero(~held)
    if not free.size:
        return dense
    stiffness = cloth.stiffness
    energy = csr_array(stiffness + LENGTH**2 * (stiffness @ diags_array(1.0 / cloth.areas) @ stiffness))[free]
    solved = dense.copy()
    solved[free] = Factor(energy[:, free]).solve(-(energy[:, np.flatnonzero(held)] @ dense[held]))
    return solved


def _rounded(cloth: _Cloth, dense: Float[np.ndarray, "N C"], free: Bool[np.ndarray, " N"]) -> Float[np.ndarray, "N C"]:
    """The weights averaged with their neighbours where they were continued, and beside that."""
    if not free.any():
        return dense
    degrees = np.maximum(cloth.around.sum(axis=1), 1.0)
    moving = free | (cloth.around @ free.astype(np.float64) > 0)
    for _ in range(ROUNDS):
        mean = (cloth.around @ dense) / degrees[:, None]
        dense = np.where(moving[:, None], (1.0 - STEP) * dense + STEP * mean, dense)
    return dense
