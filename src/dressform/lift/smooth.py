"""The implicit solve that smooths the values read at the feet along the cloth."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array, diags_array

from dressform.arrays import ClothPoints, Faces, VertexScalars
from dressform.errors import MeshError
from dressform.garment.parts import seam_groups
from dressform.lift.shifted import ShiftedFactor, factorise
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.laplacian import cotangent

GRAIN_SHARE = 0.8  # α: smoothing length per edge length of the body at the foot; the body has no finer detail
CLEARANCE_SHARE = 0.5  # β: smoothing length per clearance
SHORTEST = 1e-6  # metres; where body and clearance have no size at all
LONGEST = 0.08  # metres; no field is smoothed over more
MIN_AREA = 0.02  # a vertex owns at least this share of the median area


@dataclass(frozen=True)
class Smoother:
    """Minimises Σ_i |(K u)_i − b_i|² / V_i + V_i |u_i − t_i|² over fields u of the cloth, for any t and b.

    K is the cotangent Laplacian, V = area / ℓ² with the smoothing length ℓ. The minimum solves
    (K V⁻¹ K + V) u = V t + K V⁻¹ b; so does the imaginary part of (K − iV)⁻¹ (V t + i b), which is far cheaper: that
    matrix has the sparsity of one Laplacian, not of its square, and the square root of its condition number.

    Attributes:
        stiffness: K, (N, N).
        pull: Diagonal of V, (N,).
        lengths: ℓ, metres, (N,).
        factor: Factor of K − iV.
        cloth_to_solved: Which of the N unknowns each cloth vertex is, (G,): vertices that coincide are one.
    """

    stiffness: csr_array
    pull: Float[np.ndarray, " N"]
    lengths: Float[np.ndarray, " N"]
    factor: ShiftedFactor
    cloth_to_solved: Int[np.ndarray, " G"]

    def solve(
        self, targets: Float[np.ndarray, "G C"], bends: Float[np.ndarray, "N C"] | None = None
    ) -> Float[np.ndarray, "G C"]:
        """The smooth field near `targets`, (G, C), with the Laplacian `bends` (zero where none is given), (N, C).

        A constant is returned as it is. Every column is solved by itself.
        """
        right = np.zeros((len(self.pull), targets.shape[1]), dtype=np.complex128)
        right.real = self.pull[:, None] * self.gather(targets)
        if bends is not None:
            right.imag = bends
        return self.factor.solve(right).imag[self.cloth_to_solved]

    def spread(self, field: Float[np.ndarray, "G C"]) -> Float[np.ndarray, "G C"]:
        """The field evened out by one implicit step of heat flow, (K + V)⁻¹ V, over the same lengths, (G, C).

        Rougher than `solve`, but K has no positive entry beside its diagonal, so what comes out is a weighted mean of
        what goes in: nothing overshoots, non-negative fields that sum to one stay so.
        """
        return self._heat.solve(self.pull[:, None] * self.gather(field))[self.cloth_to_solved]

    @cached_property
    def _heat(self) -> Factor:
        """Factor of K + V."""
        return Factor(self.stiffness + diags_array(self.pull))

    def gather(self, field: Float[np.ndarray, "G C"]) -> Float[np.ndarray, "N C"]:
        """A field of the cloth at the unknowns: the mean over vertices that coincide."""
        count = len(self.pull)
        if len(field) == count:
            return field
        shares = 1.0 / np.bincount(self.cloth_to_solved, minlength=count)
        pointers = np.arange(len(field) + 1)
        spread = csr_array((shares[self.cloth_to_solved], self.cloth_to_solved, pointers), shape=(len(field), count))
        return spread.T @ field


def make_smoother(
    vertices: ClothPoints,
    faces: Faces,
    clearance: VertexScalars,
    skin_edge_length: VertexScalars,
    *,
    grain_share: float = GRAIN_SHARE,
    clearance_share: float = CLEARANCE_SHARE,
) -> Smoother:
    """The smoother of a cloth mesh. Its length ℓ = min(α edge + β |clearance|, 80 mm) grows with the clearance.

    Every unknown pulls towards its own target, so the problem has one answer for any mesh: several pieces, slivers,
    branches, coincident vertices, vertices without a triangle.

    Args:
        vertices: The cloth at the base, (G, 3), metres.
        faces: Its triangles, (F, 3).
        clearance: Distance from the skin, (G,), metres.
        skin_edge_length: Edge length of the body at the foot, (G,), metres; `edge` above.
        grain_share: α, smoothing length per edge length of the body.
        clearance_share: β, smoothing length per clearance.

    Raises:
        MeshError: no triangle has an area once vertices that coincide are one.
    """
    groups = seam_groups(vertices)
    count = int(groups.max(initial=-1)) + 1
    first = np.zeros(count, dtype=np.int64)
    first[groups[::-1]] = np.arange(len(groups))[::-1]
    points, triangles = vertices[first], groups[faces]
    areas = vertex_areas(points, triangles)
    owned = areas[areas > 0]
    if len(faces) and not owned.size:
        raise MeshError(
            f"make_smoother: `vertices` must span triangles with an area, got {len(vertices)} vertices within "
            f"{np.ptp(vertices, axis=0).max():.2g} m of which none has any. Give the garment in metres."
        )
    areas = np.maximum(areas, MIN_AREA * float(np.median(owned)) if owned.size else 1.0)
    lengths = np.clip(grain_share * skin_edge_length + clearance_share * np.abs(clearance), SHORTEST, LONGEST)[first]
    pull = areas / lengths**2
    stiffness = cotangent(points, triangles)
    return Smoother(stiffness, pull, lengths, factorise(stiffness, pull, points), groups)
