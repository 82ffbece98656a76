"""The body under every garment of a check: data that all garments share, prepared once."""

import numpy as np
from jaxtyping import Bool

from dressform.arrays import VertexScalars, Weights
from dressform.body.body import Body
from dressform.faults.skin.cloth_sides import trust_skin
from dressform.lazy import lazy
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.tree import Tree


class BodyContext:
    """A body with the data that all garments on it share, computed on first use.

    Attributes:
        body: The body.
        shapes_kept: How many shapes' trees are kept.
    """

    shapes_kept = 4

    def __init__(self, body: Body) -> None:
        self.body = body
        self._shapes: tuple[tuple[bytes, Tree], ...] = ()

    @lazy
    def tree(self) -> Tree:
        """Its triangles at the base."""
        return Tree(self.body.vertices, self.body.faces)

    @lazy
    def trusted(self) -> Bool[np.ndarray, " F"]:
        """Triangles whose normal tells inside from outside."""
        return trust_skin(self.tree)

    @lazy
    def areas(self) -> VertexScalars:
        """Area of each vertex at the base, m²."""
        return vertex_areas(self.body.vertices, self.body.faces)

    def at(self, weights: Weights) -> Tree:
        """The body's triangles on a shape; the last few shapes are kept."""
        key = (np.asarray(weights) + 0.0).tobytes()
        kept = self._shapes  # read once: another thread may replace it
        for known, tree in kept:
            if known == key:
                return tree
        tree = self.tree.refit(self.body.at(weights))
        self._shapes = (*kept[1 - self.shapes_kept :], (key, tree))
        return tree
