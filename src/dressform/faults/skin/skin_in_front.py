"""Skin in front at the base: skin that lies over the cloth before anything moves."""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import VertexScalars
from dressform.faults.skin.cloth_at_base import ClothAtBase
from dressform.faults.skin.cloth_sides import ClothSides
from dressform.faults.skin.front_areas import front_areas
from dressform.faults.skin.hidden_skin import NEAR_HALF, thickness
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.inside import Winding
from dressform.mesh.rays import blocked, first_hit
from dressform.mesh.tree import Tree

REACH = 0.03
"""Skin is in front of cloth that its inward ray meets within this distance, metres."""
ON_SKIN = 1e-4
"""Cloth nearer to the skin than this lies on it, metres: which of the two is seen is left to rounding."""


def skin_in_front(
    cloth: Tree,
    body: Tree,
    trusted: Bool[np.ndarray, " F"],
    sides: ClothSides,
    at_base: ClothAtBase,
    *,
    asked: Bool[np.ndarray, " B"] | None = None,
) -> VertexScalars:
    """Skin in front of the cloth around each body vertex at the base, m², (B,).

    Skin is in front where its inward ray meets the cloth within `REACH` before it has crossed half the body, and no
    cloth lies over it within the same distance. Cloth on the skin counts as behind it. A tucked rim is excused.

    Args:
        cloth: The garment at the base; after a repair, at the repaired base.
        body: The base body.
        trusted: Body triangles whose normal tells inside from outside, (F,).
        sides: On which side of the skin this cloth lies.
        at_base: What of it lies in the body, and what is excused.
        asked: Body vertices at which skin is looked for, (B,); all if left out.

    Source: our own. Proof: tests/faults/skin/test_skin_in_front.py
    """
    normals = vertex_normals(body.vertices, body.faces)
    low, high = cloth.vertices.min(axis=0) - REACH, cloth.vertices.max(axis=0) + REACH
    near = np.all((body.vertices > low) & (body.vertices < high), axis=1)
    crossed, doubtful = np.zeros(len(body.faces), dtype=bool), np.zeros(len(body.vertices), dtype=bool)
    crossed[sides.pairs[:, 1]] = True
    doubtful[body.faces[~trusted].ravel()] = True

    def told(
        points: Float[np.ndarray, "N 3"], along: Float[np.ndarray, "N 3"], vertices: Int[np.ndarray, " N"]
    ) -> Bool[np.ndarray, " N"]:
        return _in_front(cloth, body, at_base, points, along, ~doubtful[vertices])

    found = front_areas(body, normals, near if asked is None else near & asked, crossed, told)
    areas = np.zeros(len(body.vertices))
    np.add.at(areas, found.vertices, found.sizes)
    return areas


def _in_front(
    cloth: Tree,
    body: Tree,
    at_base: ClothAtBase,
    points: Float[np.ndarray, "N 3"],
    normals: Float[np.ndarray, "N 3"],
    sure: Bool[np.ndarray, " N"],
) -> Bool[np.ndarray, " N"]:
    """Whether skin at these points is in front of the cloth, (N,).

    Where a normal does not tell inside from outside, the cloth that is met must lie inside by the winding number.
    """
    found = np.zeros(len(points), dtype=bool)
    rows = np.flatnonzero(np.abs(normals).sum(axis=1) > 0)
    origins = points[rows] + ON_SKIN * normals[rows]
    hits = first_hit(cloth, origins, -normals[rows], far=REACH + ON_SKIN)
    met = hits.blocked
    rows, origins, faces, distances = rows[met], origins[met], hits.faces[met], hits.distances[met]
    reach = np.minimum(REACH, NEAR_HALF * thickness(body, points[rows], -normals[rows])) + ON_SKIN
    where = origins - distances[:, None] * normals[rows]
    kept = (distances <= reach) & ~at_base.excuses(faces, where)
    kept[kept] = ~blocked(cloth, origins[kept], normals[rows[kept]], far=REACH).blocked
    asked = np.flatnonzero(kept & ~sure[rows])
    if asked.size:
        kept[asked] = Winding(body.vertices, body.faces).inside(where[asked])
    found[rows[kept]] = True
    return found
