"""The implicit solve that makes what is read at the feet smooth along the cloth."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Float
from scipy.sparse import csr_array, diags_array
from scipy.sparse.linalg import splu

from dressform.arrays import ClothPoints, Faces, VertexScalars
from dressform.mesh.geometry import vertex_areas, vertex_edge_length
from dressform.mesh.laplacian import cotangent

EDGE_SHARE = 0.5  # α: smoothing length per local edge length of the cloth
CLEARANCE_SHARE = 0.5  # β: smoothing length per clearance
LONGEST = 0.08  # metres; no field is smoothed over more
EVEN_OUT = 0.02  # metres over which the local edge length is itself evened out
LEAST_AREA = 0.02  # a vertex owns at least this share of the median area


@dataclass(frozen=True)
class Smoother:
    """One factor for every field: minimises Σ_i |(K u)_i − b_i|² / V_i + V_i |u_i − t_i|².

    Attributes:
        stiffness: K, the cotangent Laplacian of the cloth, (G, G).
        pull: V, area over smoothing length squared, (G,).
        lengths: The smoothing length of each vertex, (G,), metres.
        factor: Of K V⁻¹ K + V.
    """

    stiffness: csr_array
    pull: VertexScalars
    lengths: VertexScalars
    factor: Any

    def solve(
        self, targets: Float[np.ndarray, "G C"], curls: Float[np.ndarray, "G C"] | None = None
    ) -> Float[np.ndarray, "G C"]:
        """The smooth field near `targets`, (G, C), whose Laplacian is near `curls` (near zero where none is given).

        A constant is returned as it is. Every column is solved by itself.
        """
        right = self.pull[:, None] * targets
        if curls is not None:
            right += self.stiffness @ (curls / self.pull[:, None])
        return self.factor.solve(right)


def make_smoother(
    vertices: ClothPoints,
    faces: Faces,
    clearance: VertexScalars,
    *,
    edge_share: float = EDGE_SHARE,
    clearance_share: float = CLEARANCE_SHARE,
) -> Smoother:
    """The smoother of a cloth mesh; its length grows with clearance, so that loose cloth prints no ripple.

    Every vertex pulls towards its own target, so the matrix is positive definite for any mesh: several pieces,
    slivers, branches, vertices without a triangle.
    """
    stiffness = cotangent(vertices, faces)
    areas = vertex_areas(vertices, faces)
    used = areas > 0
    areas = np.maximum(areas, LEAST_AREA * float(np.median(areas[used])) if used.any() else 1.0)
    edge = _factor(EVEN_OUT**2 * stiffness + diags_array(areas)).solve(areas * vertex_edge_length(vertices, faces))
    lengths = np.clip(edge_share * edge + clearance_share * np.abs(clearance), edge_share * edge, LONGEST)
    lengths = np.where(used & (lengths > 0), lengths, LONGEST)
    pull = areas / lengths**2
    energy = stiffness @ diags_array(1.0 / pull) @ stiffness + diags_array(pull)
    return Smoother(stiffness, pull, lengths, _factor(energy))


def _factor(matrix: csr_array) -> Any:
    """Factor of a symmetric positive definite matrix."""
    return splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
