"""A garment on one shape of its body: every fault as a field, before summing, grading and locating."""

from collections.abc import Mapping

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import BodyPoints, ClothPoints, Faces, Weights
from dressform.faults.bent import bent
from dressform.faults.broken import folded, hard_bends, seam_gaps
from dressform.faults.layers import Swaps, swapped
from dressform.faults.pierced import pierced_areas
from dressform.faults.prepared import PreparedGarment
from dressform.faults.pucker import pucker_index
from dressform.faults.self_crossing import SEEN_DEPTH, cut_depths, pressed
from dressform.faults.skin.show_through import ShowThroughLook
from dressform.faults.stretch import departure, mean_at_vertices, metrics, principal_stretches, skin_metrics
from dressform.lazy import lazy
from dressform.mesh.geometry import face_areas
from dressform.mesh.intersect import tree_self_crossings
from dressform.mesh.tree import Tree


class Look:
    """Everything measured on one shape, computed on first use.

    Attributes:
        worn: The garment on its body.
        weights: The shape, (K,).
    """

    def __init__(self, worn: PreparedGarment, weights: Weights) -> None:
        self.worn, self.weights = worn, weights

    @lazy
    def body_tree(self) -> Tree:
        """The body's triangles."""
        return self.worn.context.at(self.weights)

    @lazy
    def cloth_tree(self) -> Tree:
        """The cloth's triangles."""
        return self.worn.cloth(self.weights)

    @property
    def body(self) -> BodyPoints:
        """Body vertices, (B, 3)."""
        return self.body_tree.vertices

    @property
    def body_faces(self) -> Faces:
        """Triangles of the body, (F, 3)."""
        return self.worn.body.faces

    @property
    def cloth(self) -> ClothPoints:
        """Cloth vertices, (G, 3)."""
        return self.cloth_tree.vertices

    @property
    def cloth_faces(self) -> Faces:
        """Triangles of the cloth, (F, 3)."""
        return self.worn.fit.garment.faces

    @property
    def seams(self) -> Int[np.ndarray, "M 2"]:
        """Pairs of cloth vertices that coincide at the base, (M, 2)."""
        return self.worn.seams

    @lazy
    def through(self) -> ShowThroughLook:
        """Show-through in full."""
        return ShowThroughLook(self.worn.through, self.cloth_tree, self.body_tree)

    @lazy
    def depths(self) -> Float[np.ndarray, " G"]:
        """Deepest sample nearest to each cloth vertex, 0 where there is none, metres, (G,)."""
        depths = np.zeros(len(self.cloth))
        np.maximum.at(depths, self.through.samples.vertices, self.through.samples.depths)
        return depths

    @lazy
    def under_skin(self) -> Float[np.ndarray, " G"]:
        """Area of the cloth around each vertex that newly lies inside the body, m², (G,)."""
        areas = np.zeros(len(self.cloth))
        np.add.at(areas, self.through.samples.vertices, self.through.samples.areas)
        return areas

    @lazy
    def clearance_change(self) -> Float[np.ndarray, " G"]:
        """Clearance minus clearance at the base, metres, (G,)."""
        return self.through.sides.signed - self.worn.sides.signed

    @lazy
    def windows(self) -> Float[np.ndarray, " S"]:
        """Pucker index of every window, (S,); 0 where the cloth is too coarse to tell."""
        return np.where(self.worn.windows.tells, pucker_index(self.worn.windows, self.cloth), 0.0)

    @property
    def pucker(self) -> Float[np.ndarray, " G"]:
        """The same at every cloth vertex, (G,)."""
        return self.windows[self.worn.windows.owner]

    @lazy
    def bent(self) -> Float[np.ndarray, " G"]:
        """Turn of the cloth from where smooth following would have it face, radians, (G,)."""
        worn, lift = self.worn, self.worn.smooth_lift
        if lift is None:
            return np.zeros(len(self.cloth))
        return bent(lift, self.cloth, self.cloth_faces, worn.leaders, self.weights)

    def own_turn(self, asked: Bool[np.ndarray, " G"]) -> Float[np.ndarray, " N"]:
        """Turn of the cloth from where it would face if it turned with the cloth around it, radians, of the N asked."""
        return self.worn.own_turn.departure(self.cloth, asked)

    @lazy
    def _metric(self) -> Float[np.ndarray, "F 3"]:
        return metrics(self.worn.triangles, self.cloth)

    @lazy
    def stretches(self) -> Float[np.ndarray, "F 2"]:
        """Principal stretches of every triangle, (F, 2)."""
        return principal_stretches(self._metric)

    @lazy
    def relative(self) -> Float[np.ndarray, " F"]:
        """How far each triangle lengthens or shortens beyond both its skin and itself, |ln|, (F,)."""
        return departure(self._metric, skin_metrics(self.worn.skin_stretch, self.worn.triangles, self.body))

    @lazy
    def stretch(self) -> Float[np.ndarray, " G"]:
        """The same, mean by area around each vertex, (G,)."""
        return mean_at_vertices(self.worn.triangles, self.relative, len(self.cloth))

    @lazy
    def folded(self) -> Int[np.ndarray, " N"]:
        """Triangles newly turned over, (N,)."""
        return np.flatnonzero(folded(self.cloth, self.cloth_faces) & ~self.worn.own_folds)

    @lazy
    def folded_area(self) -> Float[np.ndarray, " G"]:
        """Area of these triangles around each cloth vertex, m², (G,)."""
        return self._around(self.folded)

    @lazy
    def newly_crossing(self) -> Int[np.ndarray, "P 2"]:
        """Pairs of triangles that cross and did not at the base, (P, 2)."""
        pairs = tree_self_crossings(self.cloth_tree)
        return pairs[~np.isin(self.worn.pair_numbers(pairs), self.worn.own_crossings)]

    @lazy
    def crossing(self) -> Int[np.ndarray, "P 2"]:
        """Pairs of triangles that newly cross where the body itself leaves them room, (P, 2)."""
        pairs = self.newly_crossing
        if not len(pairs):
            return pairs
        return pairs[~pressed(self.body_tree, self.worn.sides, self.cloth_faces, pairs, self.through.normals)]

    @lazy
    def cut_depths(self) -> Float[np.ndarray, " P"]:
        """How deep each of these pairs cuts, metres, (P,)."""
        return cut_depths(self.cloth, self.cloth_faces, self.crossing)

    @lazy
    def cut(self) -> Float[np.ndarray, " G"]:
        """Area around each cloth vertex of triangles that cut deep enough to be seen, m², (G,)."""
        return self._around(np.unique(self.crossing[self.cut_depths >= SEEN_DEPTH]))

    def _around(self, faces: Int[np.ndarray, " N"]) -> Float[np.ndarray, " G"]:
        """Area of some of the cloth's triangles, a third of each at every corner, m², (G,)."""
        if not len(faces):
            return np.zeros(len(self.cloth))
        corners = self.cloth_faces[faces]
        areas = np.repeat(face_areas(self.cloth, corners) / 3.0, 3)
        return np.bincount(corners.ravel(), weights=areas, minlength=len(self.cloth))

    def share(self, areas: Float[np.ndarray, " G"]) -> Float[np.ndarray, " G"]:
        """An area at each cloth vertex as a share of the cloth around it, 0 to 1, (G,)."""
        own = self.worn.areas
        return np.minimum(np.divide(areas, own, out=np.zeros(len(own)), where=own > 0), 1.0)

    @lazy
    def gaps(self) -> Float[np.ndarray, " M"]:
        """How far each seam has opened, metres, (M,)."""
        return np.maximum(seam_gaps(self.seams, self.cloth) - self.worn.own_gaps, 0.0)

    @property
    def stance(self) -> str:
        """Name of the pose; empty at rest."""
        return ""

    @property
    def joints(self) -> Mapping[str, float]:
        """Values of the sliders that move joints."""
        return {}

    @lazy
    def bends(self) -> Float[np.ndarray, " G"]:
        """Departure of hard parts from rigid motion and scale, metres, (G,)."""
        return hard_bends(self.worn.pieces, self.worn.fit.garment.vertices, self.cloth)

    @lazy
    def worn_under(self) -> list[ClothPoints]:
        """Vertices of the garments worn under it, metres."""
        return [fit.at(self.weights) for fit in self.worn.under]

    @lazy
    def pierced(self) -> Float[np.ndarray, " G"]:
        """Cloth of the layers below that has come through, around each vertex, m², (G,)."""
        areas = np.zeros(len(self.cloth))
        for below, points in zip(self.worn.below, self.worn_under):
            areas += pierced_areas(self.cloth_tree, below, points, self.body_tree)
        return areas

    @lazy
    def swaps(self) -> tuple[Swaps, ...]:
        """Cloth that is now under a layer that it covered."""
        return tuple(swapped(order, self.cloth, self.worn_under) for order in self.worn.orders)

    @lazy
    def swapped(self) -> Float[np.ndarray, " G"]:
        """Area around each cloth vertex that is now under a layer it covered, as seen from outside, m², (G,)."""
        areas = np.zeros(len(self.cloth))
        for one in self.swaps:
            areas[one.outer] = np.maximum(areas[one.outer], self.worn.areas[one.outer] * one.shown)
        return areas
