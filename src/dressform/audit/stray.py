"""Vertices that a morph leaves behind or takes along by mistake: single ones, small spots, separate pieces."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.spatial import cKDTree

from dressform.arrays import VertexScalars
from dressform.audit.moved import MorphAtWeight
from dressform.audit.skin import AuditedSkin
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree

STRAY_RATIO = 4.0  # times what its neighbours depart from theirs, above which a vertex is alone in what it does
ISLAND_SHARE = 0.02  # of the moved area; a spot that is larger belongs to what the morph is for
FAR = 0.03  # metres along the skin from all else that moves, beyond which a spot is an island
BESIDE = 0.02  # metres; a separate piece that is farther from the skin has nothing to follow
BEHIND_SHARE = 0.25  # of the skin's move, below which a piece that moves a little otherwise is let be


def stray_moves(skin: AuditedSkin, deltas: Float[np.ndarray, "B 3"]) -> VertexScalars:
    """How far a vertex departs from its neighbours if it is the only one to do so, else 0, (B,), metres.

    e_v = |d_v − mean of d over its neighbours|. It is alone when e_v is over four times every |d_i − d_j| between
    neighbours that an edge joins, and over four times every e of a neighbour that is judged without v. So a rim, a
    steep flank, the top of a bump and skin that is rough all over are no strays.

    Source: our own. Proof: tests/audit/test_stray.py
    """
    count, faces = len(deltas), skin.faces
    degree = np.asarray(skin.around.sum(axis=1)).ravel()
    sums = skin.around @ deltas
    own = np.linalg.norm(deltas - sums / np.maximum(degree, 1.0)[:, None], axis=1)
    bound = np.zeros(count)
    for corner in range(3):
        ends = faces[:, (corner + 1) % 3], faces[:, (corner + 2) % 3]
        np.maximum.at(bound, faces[:, corner], np.linalg.norm(deltas[ends[0]] - deltas[ends[1]], axis=1))
    links = skin.around.tocoo()
    others = (sums[links.col] - deltas[links.row]) / np.maximum(degree[links.col] - 1.0, 1.0)[:, None]
    np.maximum.at(bound, links.row, np.linalg.norm(deltas[links.col] - others, axis=1))
    return np.where((own > STRAY_RATIO * bound) & (degree >= 3), own, 0.0)


def islands(skin: AuditedSkin, moved: MorphAtWeight, strays: Bool[np.ndarray, " B"]) -> Bool[np.ndarray, " B"]:
    """Vertices of small spots that move far from everything else that moves, (B,); single strays are left out.

    A spot is small when it holds under a fiftieth of the area that the morph touches. The distance is measured along
    the skin, or in a straight line on a separate piece of the mesh (an eye, a nail).
    """
    found = np.zeros(len(strays), dtype=bool)
    members, labels = skin.pieces(moved.touched)
    if not members.size:
        return found
    sizes = np.bincount(labels, weights=skin.areas[members])
    small = sizes < ISLAND_SHARE * sizes.sum()
    small[np.argmax(sizes)] = False
    if not small.any():
        return found
    rest = members[~small[labels]]
    near = skin.reached(rest, FAR)
    apart = members[~np.isin(skin.shells[members], skin.shells[rest])]
    near[apart] = cKDTree(skin.vertices[rest]).query(skin.vertices[apart])[0] <= FAR
    meets = np.bincount(labels, weights=near[members] | strays[members], minlength=len(sizes)) > 0
    found[members[(small & ~meets)[labels]]] = True
    return found


@dataclass(frozen=True)
class Loose:
    """Separate pieces of the mesh (eyes, nails, teeth) and the skin beside them.

    Attributes:
        vertices: Vertices of separate pieces that lie beside the largest, (N,).
        corners: Vertices of the triangle of the largest piece that lies nearest to each, (N, 3).
        shares: Where in that triangle, (N, 3).
    """

    vertices: Int[np.ndarray, " N"]
    corners: Int[np.ndarray, "N 3"]
    shares: Float[np.ndarray, "N 3"]

    @classmethod
    def of(cls, skin: AuditedSkin) -> "Loose":
        """Find the pieces that lie beside the largest."""
        shells = skin.shells
        largest = int(np.argmax(np.bincount(shells, weights=skin.areas)))
        others = np.flatnonzero(skin.used & (shells != largest))
        main = skin.faces[shells[skin.faces[:, 0]] == largest]
        found = closest(Tree(skin.vertices, main), skin.vertices[others], within=BESIDE)
        beside = found.faces >= 0
        corners = main[found.faces[beside]]
        return cls(others[beside], corners, found.barycentric[beside])

    def lags(self, skin: AuditedSkin, moved: MorphAtWeight) -> list[tuple[Int[np.ndarray, " P"], float]]:
        """Vertices of each piece that does not move with the skin beside it, and by how much, metres; most first."""
        if not self.vertices.size:
            return []
        with_skin = np.einsum("nc,ncx->nx", self.shares, moved.deltas[self.corners])
        apart = moved.deltas[self.vertices] - with_skin
        found = []
        labels = skin.shells[self.vertices]
        for label in np.unique(labels):
            members = labels == label
            lag = float(np.linalg.norm(apart[members].mean(axis=0)))
            if lag > BEHIND_SHARE * float(np.linalg.norm(with_skin[members].mean(axis=0))):
                found.append((np.flatnonzero(skin.shells == label), lag))
        return sorted(found, key=lambda pair: -pair[1])
