"""One fault of one garment, or of a patch of it, on a shape: what a check measures, and no more than is asked."""

from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, VertexScalars, Weights
from dressform.causes.ground import Ground
from dressform.errors import ArgumentError
from dressform.faults.broken import folded, hard_bends, seam_gaps
from dressform.faults.cloth_inside import own_inside
from dressform.faults.cloth_sides import ClothSides, cloth_sides
from dressform.faults.fault import spread
from dressform.faults.graded.clearance import CLEARANCE
from dressform.faults.graded.crossing import CROSSING
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.folded import FOLDED
from dressform.faults.graded.hard import HARD
from dressform.faults.graded.layers import LAYERS
from dressform.faults.graded.pucker import PUCKER
from dressform.faults.graded.seam import SEAM
from dressform.faults.graded.stretch import STRETCH
from dressform.faults.hidden_skin import hide_skin
from dressform.faults.layers import Order, find_orders, swapped
from dressform.faults.pucker import PuckerWindows, pucker_index, pucker_windows
from dressform.faults.registry import FAULTS
from dressform.faults.show_through import ShowThroughBase, ShowThroughLook, base_normals, look_for_show_through
from dressform.faults.stretch import (
    BaseTriangles,
    SkinStretch,
    base_triangles,
    log_stretch,
    mean_at_vertices,
    metrics,
    principal_stretches,
    skin_metrics,
    skin_stretch,
)
from dressform.fit.fit import Fit
from dressform.garment.parts import Pieces, find_pieces, seam_pairs
from dressform.mesh.intersect import tree_self_crossings
from dressform.mesh.tree import Tree


class Measuring:
    """The faults of one fit as fields, each prepared when it is first asked for.

    The fields are those of `FaultCheck`, but at the base, of which a check is clean by definition: there `depth`
    is how deep the cloth lies in the body, and `clearance` its clearance beyond the one that it was meant to have.

    Args:
        ground: The body.
        fit: The garment that follows it.
        pieces: The pieces of the garment, where the fit's is but a patch of it.
        skin: Body vertices at which bare skin is looked for, (B,); all if left out.
        meant: Clearance that each vertex was modelled with, metres, (G,); what it has at the base if left out.
    """

    def __init__(
        self,
        ground: Ground,
        fit: Fit,
        *,
        pieces: Pieces | None = None,
        skin: Bool[np.ndarray, " B"] | None = None,
        meant: VertexScalars | None = None,
    ) -> None:
        self.ground, self.fit = ground, fit
        self._given_pieces, self._asked, self.meant = pieces, skin, meant
        self._clothes: dict[bytes, Tree] = {}

    def field(self, fault: str, weights: Weights) -> VertexScalars:
        """A fault at each vertex, of the body for `exposed`, of the cloth for every other; `clearance` has a sign.

        Raises:
            ArgumentError: the fault has no field; those that have one are listed.
        """
        fields = {
            EXPOSED.key: self._exposed,
            DEPTH.key: self._depth,
            PUCKER.key: self._pucker,
            STRETCH.key: self._stretch,
            CLEARANCE.key: self._clearance_change,
            FOLDED.key: self._folded,
            CROSSING.key: self._crossing,
            SEAM.key: self._seam,
            HARD.key: self._hard,
            LAYERS.key: self._layers,
        }
        if fault not in fields:
            valid = ", ".join(name for name in FAULTS if name in fields)
            raise ArgumentError.of("Measuring.field", "fault", f"one of {valid}", repr(fault), "Use one of these")
        return fields[fault](np.asarray(weights, dtype=np.float64))

    def cloth(self, weights: Weights) -> Tree:
        """The cloth's triangles on a shape; the last is kept."""
        key = (weights + 0.0).tobytes()
        if key not in self._clothes:
            self._clothes = {key: self.base_cloth.refit(self.fit.at(weights))}
        return self._clothes[key]

    @cached_property
    def base_cloth(self) -> Tree:
        """The cloth's triangles as its maker modelled them."""
        return Tree(self.fit.garment.vertices, self.fit.garment.faces)

    @cached_property
    def sides(self) -> ClothSides:
        """On which side of the skin the cloth lies at the base; its nearest triangles are the feet."""
        nowhere = np.full(len(self.fit.base), -1)
        return cloth_sides(self.base_cloth, self.ground.tree, self.ground.trusted, start=nowhere)

    @cached_property
    def pieces(self) -> Pieces:
        """The connected pieces of the garment."""
        return self._given_pieces or find_pieces(self.fit.garment)

    @cached_property
    def through(self) -> ShowThroughBase:
        """What show-through needs to know of the base body."""
        ground, cloth = self.ground, self.base_cloth
        hidden = hide_skin(cloth, ground.tree, asked=self._asked)
        covered = np.union1d(hidden.vertices, ground.body.faces[self.sides.nearest])
        own = own_inside(cloth, ground.tree, ground.trusted, self.sides)
        return ShowThroughBase(ground.trusted, self.sides, own, hidden, covered)

    def _look(self, weights: Weights) -> ShowThroughLook:
        return look_for_show_through(self.through, self.cloth(weights), self.ground.at(weights))

    def _exposed(self, weights: Weights) -> VertexScalars:
        return self._look(weights).exposed.areas

    def _depth(self, weights: Weights) -> VertexScalars:
        if not weights.any():
            return np.maximum(-self.sides.signed, 0.0)
        samples = self._look(weights).samples
        depths = np.zeros(len(self.fit.base))
        np.maximum.at(depths, samples.vertices, samples.depths)
        return depths

    def _clearance_change(self, weights: Weights) -> VertexScalars:
        if not weights.any():
            return self.sides.signed - (self.sides.signed if self.meant is None else self.meant)
        ground = self.ground
        now = cloth_sides(self.cloth(weights), ground.at(weights), ground.trusted, start=self.sides.nearest)
        return now.signed - self.sides.signed

    @cached_property
    def _windows(self) -> PuckerWindows:
        return pucker_windows(self.fit.garment.vertices, self.fit.garment.faces)

    def _pucker(self, weights: Weights) -> VertexScalars:
        return pucker_index(self._windows, self.fit.at(weights))[self._windows.owner]

    @cached_property
    def _triangles(self) -> BaseTriangles:
        return base_triangles(self.fit.garment.vertices, self.fit.garment.faces)

    @cached_property
    def _skin(self) -> SkinStretch:
        body = self.ground.body
        return skin_stretch(body.vertices, body.faces, self.sides.nearest, self.sides.barycentric)

    def _stretch(self, weights: Weights) -> VertexScalars:
        metric = metrics(self._triangles, self.fit.at(weights))
        on_skin = skin_metrics(self._skin, self._triangles, self.ground.at(weights).vertices)
        relative = principal_stretches(metric, against=on_skin)
        return mean_at_vertices(self._triangles, log_stretch(relative), len(self.fit.base))

    @cached_property
    def _own_folds(self) -> Bool[np.ndarray, " F"]:
        return folded(self.fit.garment.vertices, self.fit.garment.faces)

    def _folded(self, weights: Weights) -> VertexScalars:
        faces = self.fit.garment.faces
        return spread(faces[folded(self.fit.at(weights), faces) & ~self._own_folds], len(self.fit.base))

    @cached_property
    def _own_crossings(self) -> Int[np.ndarray, " P"]:
        return tree_self_crossings(self.base_cloth) @ self._pair_key

    @property
    def _pair_key(self) -> Int[np.ndarray, "2"]:
        return np.array([len(self.fit.garment.faces), 1])

    def _crossing(self, weights: Weights) -> VertexScalars:
        faces, pairs = self.fit.garment.faces, tree_self_crossings(self.cloth(weights))
        fresh = pairs[~np.isin(pairs @ self._pair_key, self._own_crossings)]
        corners = np.concatenate([faces[fresh[:, 0]], faces[fresh[:, 1]]], axis=1)
        return spread(corners, len(self.fit.base))

    @cached_property
    def _seams(self) -> Int[np.ndarray, "M 2"]:
        return seam_pairs(self.fit.garment.vertices)

    def _seam(self, weights: Weights) -> VertexScalars:
        now, own = (seam_gaps(self._seams, points) for points in (self.fit.at(weights), self.fit.garment.vertices))
        gaps = np.zeros(len(self.fit.base))
        np.maximum.at(gaps, self._seams, np.maximum(now - own, 0.0)[:, None])
        return gaps

    def _hard(self, weights: Weights) -> VertexScalars:
        return hard_bends(self.pieces, self.fit.garment.vertices, self.fit.at(weights))

    @cached_property
    def _orders(self) -> tuple[Order, ...]:
        garment = self.fit.garment
        return find_orders(garment.vertices, garment.faces, garment.face_parts, self.outward)

    @cached_property
    def outward(self) -> Float[np.ndarray, "G 3"]:
        """Unit normal of the skin under each vertex at the base."""
        return base_normals(self.through, self.ground.tree)

    def _layers(self, weights: Weights) -> VertexScalars:
        cloth: ClothPoints = self.fit.at(weights)
        found = [swapped(order, cloth) for order in self._orders]
        swaps = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *found]))
        return spread(swaps[:, None], len(cloth))
