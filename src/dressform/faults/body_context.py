"""The body under every garment of a check: data that all garments share, prepared once."""

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import VertexScalars, Weights
from dressform.body.body import Body
from dressform.body.measure_marks import Standing
from dressform.body.measure_trunk import Trunk, find_trunk
from dressform.body.stance import Stance, carry
from dressform.faults.ease import standing_body
from dressform.faults.pucker import PuckerWindows, pucker_windows
from dressform.faults.skin.cloth_sides import trust_skin
from dressform.fit.posed import body_maps, offsets_of, shifted
from dressform.lazy import lazy
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.tree import Tree


class BodyContext:
    """A body with the data that all garments on it share, computed on first use.

    Attributes:
        body: The body.
        shapes_kept: How many shapes' trees are kept.
        stances_kept: How many stances' maps are kept.
    """

    shapes_kept = 4
    stances_kept = 32

    def __init__(self, body: Body) -> None:
        self.body = body
        self._shapes: tuple[tuple[bytes, Tree], ...] = ()
        self._windows: tuple[float, PuckerWindows] | None = None
        self._maps: tuple[tuple[bytes, Float[np.ndarray, "B 3 4"]], ...] = ()

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

    @lazy
    def standing(self) -> Standing:
        """The body at its base, prepared for searches of limbs and trunk."""
        return standing_body(self.body)

    @lazy
    def trunk(self) -> Trunk:
        """Its trunk, where tapes go around."""
        return find_trunk(self.standing)

    def skin_windows(self, radius: float) -> PuckerWindows:
        """The windows in which the pucker of its own skin is judged; those of the last radius are kept."""
        kept = self._windows
        if kept is None or kept[0] != radius:
            kept = self._windows = (radius, pucker_windows(self.body.vertices, self.body.faces, radius=radius))
        return kept[1]

    def maps(self, stance: Stance) -> Float[np.ndarray, "B 3 4"]:
        """The map of each vertex at a stance, metres, (B, 3, 4); those of the last stances are kept.

        Raises: As `body_maps`.
        """
        key = stance.worlds.tobytes()
        kept = self._maps
        for known, maps in kept:
            if known == key:
                return maps
        maps = body_maps(self.body, stance)
        self._maps = (*kept[1 - self.stances_kept :], (key, maps))
        return maps

    def at(self, weights: Weights, stance: Stance | None = None) -> Tree:
        """The body's triangles on a shape, at rest or at a stance; the last few are kept.

        Raises: As `body_maps`, for a stance.
        """
        key = (np.asarray(weights) + 0.0).tobytes() + (b"" if stance is None else stance.worlds.tobytes())
        kept = self._shapes  # read once: another thread may replace it
        for known, tree in kept:
            if known == key:
                return tree
        points = self.body.at(weights)
        if stance is not None:
            offsets = offsets_of(self.body, self.body.skin, stance)
            points = carry(shifted(self.maps(stance), offsets, weights), points)
        tree = self.tree.refit(points)
        self._shapes = (*kept[1 - self.shapes_kept :], (key, tree))
        return tree
