"""The certificate: which near pairs of cloth and body are proven apart at every shape of the range."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.range import Range
from dressform.mesh.geometry import face_areas
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from dressform.proof.bound_kernels import pair_bounds, pair_gaps
from dressform.proof.decision import Decision
from dressform.proof.linear_mesh import LinearMesh
from dressform.proof.pairs import near_pairs
from dressform.proof.split_kernels import split_bounds

SPLIT_BUDGET = 200  # pieces of the range looked at for one pair before it is left as "checked only"
FLOAT32_STEP = 2.0**-24  # half the spacing of float32 numbers next to 1


@dataclass(frozen=True, eq=False)
class Certificate(Decision):
    """The pairs that are proven apart, those that are not, and those left out.

    Attributes:
        excluded: Cloth faces left out: those that cross the body or lie in it at the base already, (F,).
        crossing: Pairs of cloth and open cloth under it that were left out, since they cross at the base, (N, 2).
        certified_area: Share of the cloth's area, without the excluded faces, of which every pair is certified; 0
            where every face is excluded.
        excluded_area: Share of the cloth's area that is excluded.
    """

    excluded: Bool[np.ndarray, " F"]
    crossing: Int[np.ndarray, "N 2"]
    certified_area: float
    excluded_area: float

    @property
    def share(self) -> float:
        """Share of the near pairs that is certified, 1 where there are none; 0 where all cloth is left out."""
        return 0.0 if self.excluded.all() else self.share_of(of_nothing=1.0)


def certify(
    cloth: LinearMesh, body: LinearMesh, box: Range, *, margin: float = 0.0, budget: int = SPLIT_BUDGET
) -> Certificate:
    """Prove, pair by pair, that cloth and body keep `margin` at every weight of the range.

    Soundness: a pair that is not near is apart along a coordinate axis; a certified pair is apart along one direction
    for each piece of the range. Cloth that is outside at the base and crosses nothing at any weight stays
    outside. Faces that cross the body, or have a corner in it, at the base start from somewhere else and are
    left out, and counted. Of open cloth under it (`moving.joined`) nothing is inside; there only the pairs that cross
    at the base are left out, and what is certified stays on the side on which it is.

    Args:
        cloth: The fit as a moving mesh.
        body: The body as a moving mesh, or joined with the layers under the cloth.
        box: The range of the weights; the base body is always included. The proof does not hold beyond it.
        margin: Gap to prove, metres; 0 proves that they do not touch.
        budget: Pieces of the range for one pair.

    Source: the box minimum of an affine function is exact, as the weights are separable. The margin is raised by a
    bound on the rounding of positions stored and blended in float32.
    Proof: tests/proof/test_certificate.py::test_no_shape_violates_a_certified_pair
    """
    box = box.with_base()
    excluded, crossing = touching_faces(cloth, body), crossing_sheets(cloth, body)
    slack = rounding_slack(cloth, box) + rounding_slack(body, box)
    needed = margin + slack
    pairs = near_pairs(cloth, body, box, margin=needed)
    pairs = without(pairs[~excluded[pairs[:, 0]]], crossing)
    everywhere = np.ones(len(pairs), dtype=bool)
    bounds, certified, split = decided(cloth, body, pairs, box, np.full(len(pairs), needed), everywhere, budget)
    areas = face_areas(cloth.tree.vertices, cloth.faces)
    unsure = np.zeros(len(areas), dtype=bool)
    unsure[pairs[~certified, 0]] = True
    included = float(areas[~excluded].sum())
    return Certificate(
        margin,
        slack,
        pairs,
        bounds,
        certified,
        split,
        excluded,
        crossing,
        float(areas[~excluded & ~unsure].sum()) / included if included > 0 else 0.0,
        float(areas[excluded].sum() / areas.sum()),
    )


def decided(
    cloth: LinearMesh,
    body: LinearMesh,
    pairs: Int[np.ndarray, "P 2"],
    box: Range,
    needed: Float[np.ndarray, " P"],
    provable: Bool[np.ndarray, " P"],
    budget: int,
    *,
    enough: float = np.inf,
) -> tuple[Float[np.ndarray, " P"], Bool[np.ndarray, " P"], Bool[np.ndarray, " P"]]:
    """Bound of each pair over the range, (P,), metres; which keep `needed`, and which of them by dividing, (P,).

    Pairs that are not `provable` are not decided: nothing is certified of them. See `bounds_of` for `enough`.
    """
    bounds, _ = bounds_of(cloth, body, pairs, box, enough=enough)
    certified, split = provable & (bounds >= needed), np.zeros(len(pairs), dtype=bool)
    hard = np.flatnonzero(provable & ~certified)
    split[hard], _ = split_bounds(
        cloth.terms, cloth.faces, body.terms, body.faces, pairs[hard], box.low, box.high, needed[hard], budget
    )
    return bounds, certified | split, split


def bounds_of(
    cloth: LinearMesh,
    body: LinearMesh,
    pairs: Int[np.ndarray, "P 2"],
    box: Range,
    *,
    enough: float | Float[np.ndarray, " P"] = np.inf,
) -> tuple[Float[np.ndarray, " P"], Float[np.ndarray, "P 3"]]:
    """Largest proven gap of each pair over the range, (P,), metres, and the direction that proves it, (P, 3).

    Where a gap is `enough`, metres, for all pairs or for each, no better direction is looked for.
    """
    base, asked = np.zeros(len(box.low)), np.broadcast_to(np.float64(enough), len(pairs)).copy()
    bounds, directions = pair_bounds(
        cloth.terms, cloth.faces, body.terms, body.faces, pairs, box.low, box.high, base, asked
    )
    return bounds, directions


def base_gaps(cloth: LinearMesh, body: LinearMesh, pairs: Int[np.ndarray, "P 2"]) -> Float[np.ndarray, " P"]:
    """Distance of the two triangles of each pair at the base, (P,), metres."""
    base = np.zeros(cloth.terms.shape[1] - 1)
    gaps: Float[np.ndarray, " P"] = pair_gaps(cloth.terms, cloth.faces, body.terms, body.faces, pairs, base)
    return gaps


def touching_faces(cloth: LinearMesh, body: LinearMesh) -> Bool[np.ndarray, " F"]:
    """Cloth faces that cross the body or have a corner in it at the base, (F,); open cloth does not count."""
    touching = np.zeros(len(cloth.faces), dtype=bool)
    solid = body.tree if body.sheets is None else Tree(body.tree.vertices, body.solid_faces)
    touching[crossing_pairs(cloth.tree, solid)[:, 0]] = True
    clearance, _ = signed_clearance(solid, cloth.tree.vertices)
    return touching | (clearance[cloth.faces] <= 0).any(axis=1)


def crossing_sheets(cloth: LinearMesh, body: LinearMesh) -> Int[np.ndarray, "N 2"]:
    """Pairs of a cloth face and a face of open cloth under it that cross at the base, (N, 2)."""
    if body.sheets is None:
        return np.zeros((0, 2), dtype=np.int64)
    pairs = crossing_pairs(cloth.tree, body.tree)
    return pairs[body.sheets[pairs[:, 1]]]


def without(pairs: Int[np.ndarray, "P 2"], left_out: Int[np.ndarray, "N 2"]) -> Int[np.ndarray, "M 2"]:
    """The pairs that are not among those left out, in their order, (M, 2)."""
    width = 1 + max(int(pairs[:, 1].max(initial=0)), int(left_out[:, 1].max(initial=0)))
    return pairs[~np.isin(pairs @ [width, 1], left_out @ [width, 1])]


def rounding_slack(mesh: LinearMesh, box: Range) -> float:
    """Largest error of a vertex position when terms are stored and summed in float32, metres.

    Each stored term is off by at most half a step of itself, and each of the K additions by half a step of the sum
    so far; three coordinates together give the factor √3.
    """
    reach = np.maximum(np.abs(box.low), np.abs(box.high))
    largest = np.abs(mesh.terms).max(axis=(0, 2)) * np.concatenate([[1.0], reach])
    total = float(largest.sum())
    return float(np.sqrt(3.0) * FLOAT32_STEP * (3 * total + len(reach) * total))
