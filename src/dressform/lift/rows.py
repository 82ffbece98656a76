"""Matrix rows that read a field of the body without smoothing, by three methods."""

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array
from scipy.spatial import cKDTree

from dressform.arrays import BodyPoints, ClothPoints
from dressform.lift.feet import Feet
from dressform.mesh.tree import Tree

NEIGHBOURS = 3


def nearest_rows(body: BodyPoints, cloth: ClothPoints) -> csr_array:
    """One body vertex per cloth vertex, (G, B): the common practice, and the baseline to compare with."""
    _, nearest = _neighbours(body, cloth, 1)
    return _matrix(np.ones(nearest.shape), nearest, len(body))


def nearest_three_rows(body: BodyPoints, cloth: ClothPoints) -> csr_array:
    """The three nearest body vertices, weighted by inverse distance, (G, B); rows sum to 1.

    A cloth vertex that sits on a body vertex follows that one alone. Source: [Shepard1968], power 1.
    """
    distances, nearest = _neighbours(body, cloth, min(NEIGHBOURS, len(body)))
    # Divided by the nearest distance first, so that distances near zero overflow nothing.
    weights = np.divide(distances[:, :1], distances, out=np.ones(distances.shape), where=distances > 0)
    return _matrix(weights / weights.sum(axis=1, keepdims=True), nearest, len(body))


def foot_rows(feet: Feet, tree: Tree) -> csr_array:
    """Interpolation between the corners of the triangle that holds each foot, (G, B); rows sum to 1."""
    return _matrix(feet.barycentric, tree.faces[feet.faces], len(tree.vertices))


def _neighbours(
    body: BodyPoints, cloth: ClothPoints, count: int
) -> tuple[Float[np.ndarray, "G N"], Int[np.ndarray, "G N"]]:
    """Distances and indices of the nearest body vertices, nearest first."""
    distances, nearest = cKDTree(body).query(cloth, k=list(range(1, count + 1)))
    return np.asarray(distances), np.asarray(nearest)


def _matrix(weights: Float[np.ndarray, "G N"], columns: Int[np.ndarray, "G N"], width: int) -> csr_array:
    """N weighted entries per row."""
    pointers = np.arange(0, columns.size + 1, columns.shape[1])
    return csr_array((weights.ravel(), columns.ravel(), pointers), shape=(len(columns), width))
