"""A mesh whose vertices are affine in the weights, with boxes that hold over the whole range."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.arrays import Faces, Points, Weights
from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.mesh.tree import Tree
from dressform.proof.range_kernels import node_boxes


@dataclass(frozen=True)
class Moving:
    """Vertices `terms[:, 0] + Σ_k weights_k terms[:, k + 1]` of one list of triangles.

    Attributes:
        tree: Tree of the base shape.
        terms: Base positions and one displacement per morph, (V, K + 1, 3), metres.
        boxes: Lowest and highest value of every term over the triangles of each node, (N, K + 1, 3, 2).
    """

    tree: Tree
    terms: Float[np.ndarray, "V M 3"]
    boxes: Float[np.ndarray, "N M 3 2"]

    @property
    def faces(self) -> Faces:
        """Its triangles, (F, 3)."""
        return self.tree.faces

    def at(self, weights: Weights) -> Points:
        """Vertices at `weights`, (V, 3)."""
        return self.terms[:, 0] + np.tensordot(self.terms[:, 1:], weights, axes=(1, 0))


def moving(vertices: Points, deltas: Float[np.ndarray, "K V 3"], faces: Faces) -> Moving:
    """The moving mesh of a base and its displacements."""
    tree = Tree(vertices, faces)
    terms = np.ascontiguousarray(np.concatenate([vertices[None], deltas]).transpose(1, 0, 2), dtype=np.float64)
    return Moving(tree, terms, node_boxes(terms, tree.faces, tree.order, tree.first, tree.count))


def moving_body(body: Body) -> Moving:
    """A body as a moving mesh."""
    return moving(body.vertices, body.deltas, body.faces)


def moving_cloth(fit: Fit) -> Moving:
    """A fit as a moving mesh."""
    return moving(fit.base, fit.deltas, fit.garment.faces)
