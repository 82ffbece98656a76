"""A mesh whose vertices are affine in the weights, with boxes that hold over the whole range."""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import Faces, Points, Weights
from dressform.body.body import Body
from dressform.errors import MatchError
from dressform.fit.fit import Fit
from dressform.mesh.flat import flat_points
from dressform.mesh.tree import Tree
from dressform.proof.range_kernels import node_boxes


@dataclass(frozen=True)
class LinearMesh:
    """Vertices `terms[:, 0] + Σ_k weights_k terms[:, k + 1]` of one list of triangles.

    Attributes:
        tree: Tree of the base body.
        terms: Base positions and one displacement per morph, (V, K + 1, 3), metres.
        boxes: Lowest and highest value of every term over the triangles of each node, (N, K + 1, 3, 2).
        sheets: Which triangles belong to open cloth, which has no inside, (F,); None where none do.

    Raises:
        MatchError: `sheets` has another count than the triangles.
        ArgumentError: a term is not finite, of which nothing could be proven.
    """

    tree: Tree
    terms: Float[np.ndarray, "V M 3"]
    boxes: Float[np.ndarray, "N M 3 2"]
    sheets: Bool[np.ndarray, " F"] | None = None

    def __post_init__(self) -> None:
        if self.sheets is not None and len(self.sheets) != len(self.tree.faces):
            raise MatchError(
                f"LinearMesh: `sheets` must have one value for each of {len(self.tree.faces)} triangles, got "
                f"{len(self.sheets)}. Mark the triangles of this mesh."
            )
        flat_points("LinearMesh", "terms", self.terms.reshape(-1, 3))

    @property
    def faces(self) -> Faces:
        """Its triangles, (F, 3)."""
        return self.tree.faces

    @property
    def solid_faces(self) -> Faces:
        """The triangles that do not belong to an open sheet, (S, 3). Only these can have something inside them."""
        return self.faces if self.sheets is None else self.faces[~self.sheets]

    def at(self, weights: Weights) -> Points:
        """Vertices at `weights`, (V, 3)."""
        return self.terms[:, 0] + np.tensordot(self.terms[:, 1:], weights, axes=(1, 0))


def linear_mesh(vertices: Points, deltas: Float[np.ndarray, "K V 3"], faces: Faces) -> LinearMesh:
    """The moving mesh of a base and its displacements."""
    tree = Tree(vertices, faces)
    terms = np.ascontiguousarray(np.concatenate([vertices[None], deltas]).transpose(1, 0, 2), dtype=np.float64)
    return LinearMesh(tree, terms, node_boxes(terms, tree.faces, tree.order, tree.first, tree.count))


def linear_body(body: Body) -> LinearMesh:
    """A body as a moving mesh."""
    return linear_mesh(body.vertices, body.deltas, body.faces)


def linear_cloth(fit: Fit) -> LinearMesh:
    """A fit as a moving mesh."""
    return linear_mesh(fit.base, fit.deltas, fit.garment.faces)


def posed(
    mesh: LinearMesh, maps: Float[np.ndarray, "V 3 4"], offsets: Float[np.ndarray, "K V 3"] | None = None
) -> LinearMesh:
    """A moving mesh carried by one affine map per vertex, as a stance carries it: it is affine in the weights again.

    Args:
        mesh: The mesh at rest.
        maps: Where the map of each vertex takes it, metres; see `Stance.maps`.
        offsets: What each morph adds because joints follow it; see `offsets_of`.

    Proof: tests/proof/test_stance_proof.py::test_posed_mesh_is_affine_in_the_weights
    """
    terms = np.ascontiguousarray(np.einsum("vij,vmj->vmi", maps[:, :, :3], mesh.terms))
    terms[:, 0] += maps[:, :, 3]
    if offsets is not None:
        terms[:, 1:] += offsets.transpose(1, 0, 2)
    tree = mesh.tree.refit(terms[:, 0])
    return LinearMesh(tree, terms, node_boxes(terms, tree.faces, tree.order, tree.first, tree.count), mesh.sheets)


def joined(solid: LinearMesh, *sheets: LinearMesh) -> LinearMesh:
    """A body and the open cloth on it as one mesh that other cloth must keep clear of.

    Triangles keep their order: first the solid's, then each sheet's.

    Raises:
        MatchError: the meshes differ in their number of morphs.
    """
    meshes = (solid, *sheets)
    counts = sorted({mesh.terms.shape[1] - 1 for mesh in meshes})
    if len(counts) > 1:
        raise MatchError(
            f"joined: `sheets` must move with the same morphs as the solid, got {counts} morphs. Use fits of one body."
        )
    starts = np.cumsum([0, *(len(mesh.terms) for mesh in meshes[:-1])])
    faces = np.concatenate([mesh.faces + start for mesh, start in zip(meshes, starts)])
    terms = np.concatenate([mesh.terms for mesh in meshes])
    whole = linear_mesh(terms[:, 0], terms[:, 1:].transpose(1, 0, 2), faces)
    return replace(whole, sheets=np.arange(len(faces)) >= len(solid.faces))
