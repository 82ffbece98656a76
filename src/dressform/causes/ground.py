"""The body under every garment of a check: what no garment changes, prepared once and shared."""

from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import VertexScalars, Weights
from dressform.body.body import Body
from dressform.faults.cloth_sides import trust_skin
from dressform.faults.plate_shift import PlateShift, find_plates
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.tree import Tree
from dressform.repair.footprint import curvature_tensors
from dressform.repair.plates import without_jumps

SHAPES_KEPT = 32


class Ground:
    """A body, looked at as often as its garments' faults ask for, each thing once.

    Attributes:
        body: The body.
        tree: Its triangles on the base shape.
    """

    def __init__(self, body: Body) -> None:
        self.body = body
        self.tree = Tree(body.vertices, body.faces)
        self._shapes: dict[bytes, Tree] = {}
        self._plates: dict[int, PlateShift] = {}
        self._smoothed: dict[int, Float[np.ndarray, "B 3"]] = {}

    @cached_property
    def trusted(self) -> Bool[np.ndarray, " F"]:
        """Triangles whose normal tells inside from outside."""
        return trust_skin(self.tree)

    @cached_property
    def areas(self) -> VertexScalars:
        """Area of each vertex on the base shape, m²."""
        return vertex_areas(self.body.vertices, self.body.faces)

    @cached_property
    def tensors(self) -> Float[np.ndarray, "B 3 3"]:
        """Curvature of the base shape."""
        return curvature_tensors(self.body.vertices, self.body.faces)

    def at(self, weights: Weights) -> Tree:
        """The body's triangles on a shape; the last few shapes are kept."""
        key = (np.asarray(weights) + 0.0).tobytes()
        if key not in self._shapes:
            if len(self._shapes) >= SHAPES_KEPT:
                self._shapes.pop(next(iter(self._shapes)))
            self._shapes[key] = self.tree.refit(self.body.at(weights))
        return self._shapes[key]

    def plates(self, morph: int) -> PlateShift:
        """The plates of one morph."""
        if morph not in self._plates:
            self._plates[morph] = find_plates(self.body.vertices, self.body.faces, self.body.deltas[morph])
        return self._plates[morph]

    def without_plates(self, morph: int) -> Float[np.ndarray, "B 3"]:
        """The displacement of one morph smoothed around the rims of its plates."""
        if morph not in self._smoothed:
            self._smoothed[morph] = without_jumps(self.body, self.body.deltas[morph], self.plates(morph).plates)
        return self._smoothed[morph]
