"""A lift from cloth to cloth: what a finer level does, carried to a coarser one.

Each vertex of the coarser level stands on the closest point of the finer one as both were modelled, on the sheet that
faces as it does. Moves of the base, morphs and joint weights are read there, so the same shape moves both levels alike.
Cloth that the finer level lacks follows the body by itself.
"""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float
from scipy.sparse import csr_array

from dressform.body.skeleton import Skin
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import keeps_own, on_one_joint
from dressform.garment.garment import Garment
from dressform.lift.feet import FARTHER, FARTHER_BY
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree

NEAR, FAR = 0.015, 0.03
"""Cloth within the first distance of the finer level follows it, beyond the second it does not, metres; between them
partly. Common practice in simplifying meshes keeps far below the first; a choice of ours."""


@dataclass(frozen=True, eq=False)
class Carried:
    """A coarser level that moves as the finer one.

    Attributes:
        fit: The level, not repaired yet.
        rows: Matrix that reads the finer cloth at the vertices of the coarser, (C, F); rows sum to 1.
        distances: How far each vertex is from the finer cloth as modelled, (C,), metres.
        share: How far each vertex follows the finer level, 0 to 1, (C,).
        lifted: Morphs of its body that the finer level's body lacks; they are lifted from its own.
    """

    fit: Fit
    rows: csr_array
    distances: Float[np.ndarray, " C"]
    share: Float[np.ndarray, " C"]
    lifted: tuple[str, ...]

    @property
    def loose(self) -> int:
        """Vertices that the finer level does not carry wholly."""
        return int((self.share < 1.0).sum())


def carry(finer: Fit, plain: Fit) -> Carried:
    """Carry the moves of the base, the morphs by name and the joint weights of one level to another.

    Args:
        finer: The finer level, repaired.
        plain: The coarser level as it follows its own body.

    Proof: tests/levels/test_carry.py
    """
    rows, distances = stand_on(finer.garment, plain.garment)
    share = np.clip((FAR - distances) / (FAR - NEAR), 0.0, 1.0)
    base = plain.base + share[:, None] * (rows @ (finer.base - finer.garment.vertices))
    known = {name: number for number, name in enumerate(finer.morph_names)}
    deltas = plain.deltas.copy()
    for number, name in enumerate(plain.morph_names):
        if name in known:
            carried = rows @ finer.deltas[known[name]]
            deltas[number] += share[:, None] * (carried - deltas[number])
    lifted = tuple(name for name in plain.morph_names if name not in known)
    fit = replace(plain, base=base, deltas=deltas, skin=_skin(finer, plain, rows, share))
    if fit.skin is not None and plain.following.part_joints:
        fit = replace(fit, skin=on_one_joint(fit, plain.following.part_joints))
    return Carried(fit, rows, distances, share, lifted)


def stand_on(finer: Garment, coarser: Garment) -> tuple[csr_array, Float[np.ndarray, " C"]]:
    """Matrix that reads one cloth at the vertices of another as modelled, and how far these are from it, metres.

    Thick cloth and linings have two sheets: of those that are near the one that faces as the vertex does is read.
    """
    tree = Tree(finer.vertices, finer.faces)
    found = closest(tree, coarser.vertices)
    faces, shares, distances = found.faces.copy(), found.barycentric.copy(), found.distances.copy()
    outward = vertex_normals(coarser.vertices, coarser.faces)
    across = np.flatnonzero(np.einsum("cx,cx->c", outward, tree.pseudonormals[2][faces]) < 0)
    if across.size:
        facing = closest(tree, coarser.vertices[across], normals=outward[across])
        near = (facing.faces >= 0) & (facing.distances <= FARTHER * distances[across] + FARTHER_BY)
        across = across[near]
        faces[across], shares[across] = facing.faces[near], facing.barycentric[near]
        distances[across] = facing.distances[near]
    pointers = np.arange(0, 3 * len(faces) + 1, 3)
    shape = (len(faces), len(finer.vertices))
    return csr_array((shares.ravel(), finer.faces[faces].ravel(), pointers), shape=shape), distances


def _skin(finer: Fit, plain: Fit, rows: csr_array, share: Float[np.ndarray, " C"]) -> Skin | None:
    """Joint weights of the finer level where both bodies have the same joints; else those that the level has."""
    if not carries_joints(finer, plain) or finer.skin is None or plain.skin is None:
        return plain.skin
    skeleton = plain.body.skeleton
    assert skeleton is not None
    count = len(skeleton.names)
    own, carried = plain.skin.dense(count), rows @ finer.skin.dense(count)
    return Skin.from_dense(own + share[:, None] * (carried - own))


def carries_joints(finer: Fit, plain: Fit) -> bool:
    """Whether a coarser level gets the joint weights of the finer: it keeps none of its own, and the joints agree."""
    if finer.skin is None or plain.skin is None or keeps_own(plain):
        return False
    one, other = finer.body.skeleton, plain.body.skeleton
    return one is not None and other is not None and one.names == other.names
