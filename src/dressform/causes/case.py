"""A case: the patch of cloth around one cluster, on the shape where the fault is worst, ready for counterfactuals."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.spatial import cKDTree

from dressform.arrays import ClothPoints, Points, VertexScalars, Weights
from dressform.body.shapes import Shape
from dressform.causes.ground import SHAPE, Ground
from dressform.causes.results import Cluster
from dressform.causes.wearing import Wearing
from dressform.faults.registry import is_on_body
from dressform.fit.fit import Fit
from dressform.garment.garment import Garment
from dressform.garment.parts import Pieces
from dressform.lift.feet import Feet, find_feet
from dressform.lift.lift import Lift, make_lift
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from dressform.repair.resolution import Resolution, measure_resolution

PATCH_REACH = 0.10
"""Cloth nearer than this to a cluster is lifted again with it, metres: more than any smoothing length of the lift."""
CORE_REACH = 0.02
"""A fault counts where it is no farther than this from the cluster, metres."""
SKIN_REACH = 0.05
"""Bare skin is looked for no farther than this from the cluster, metres."""


@dataclass(frozen=True)
class Case:
    """One cluster, with what is cut out for it.

    Attributes:
        wearing: The garment.
        cluster: The cluster.
        ground: The body with one morph, the way to the cluster's worst shape.
        weights: Its weight there, (1,): 1, or 0 for a cluster at the base.
        vertices: Vertices of the garment that belong to the patch, (N,).
        fit: The patch and how it follows that one morph.
    """

    wearing: Wearing
    cluster: Cluster
    ground: Ground
    weights: Weights
    vertices: Int[np.ndarray, " N"]
    fit: Fit

    @cached_property
    def spot(self) -> Float[np.ndarray, "M 3"]:
        """Where the cluster is at the base, metres."""
        skin = is_on_body(self.cluster.fault)
        points = self.ground.body.vertices if skin else self.wearing.fit.garment.vertices
        return points[self.cluster.vertices]

    @cached_property
    def core(self) -> Bool[np.ndarray, " N"]:
        """Vertices of the patch at the cluster."""
        return near_spot(self.spot, self.fit.garment.vertices)

    @cached_property
    def core_skin(self) -> Bool[np.ndarray, " B"]:
        """Vertices of the body at the cluster."""
        return near_spot(self.spot, self.ground.body.vertices)

    @cached_property
    def skin(self) -> Bool[np.ndarray, " B"]:
        """Body vertices that take part in measuring show-through: those at the cluster and around it."""
        return near_spot(self.spot, self.ground.body.vertices, reach=SKIN_REACH)

    @cached_property
    def pieces(self) -> Pieces:
        """The connected pieces of the whole garment, at the patch's vertices."""
        pieces = self.wearing.measuring.pieces
        return replace(pieces, of_vertices=pieces.of_vertices[self.vertices])

    @cached_property
    def meant(self) -> VertexScalars | None:
        """Clearance that the patch was modelled with."""
        origin = self.wearing.origin
        return None if origin is None else origin.meant[self.vertices]

    @cached_property
    def near(self) -> Bool[np.ndarray, " N"]:
        """Vertices of the patch that make the cloth at the cluster: corners of the triangles over it, and the core."""
        garment = self.fit.garment
        found = closest(Tree(garment.vertices, garment.faces), self.spot)
        near = self.core.copy()
        near[garment.faces[found.faces]] = True
        return near

    @cached_property
    def resolution(self) -> Resolution:
        """The resolution test of the patch as it is, at the base and on the cluster's worst."""
        shape = [Shape(SHAPE, self.weights)]
        return measure_resolution(self.fit, shapes=shape, tree=self.ground.tree)

    @cached_property
    def plain(self) -> ClothPoints:
        """How the patch as it is moves when it is lifted by itself, metres."""
        return self.lift(self.fit.garment, None).displacements(self.ground.body.deltas)[0]

    def lift(self, garment: Garment, gated: tuple[Feet, Bool[np.ndarray, " W"]] | None) -> Lift:
        """The lift of what has become of the patch, on feet of its own or on those given."""
        ground = self.ground
        feet, held = gated or (find_feet(ground.tree, garment.vertices, garment.faces), None)
        return make_lift(
            ground.body,
            garment,
            self.fit.following,
            tree=ground.tree,
            feet=feet,
            held=held,
            skin_edge_length=ground.skin_edge_length,
        )

    @property
    def clearance(self) -> VertexScalars:
        """Clearance of the patch at the base, metres, (N,)."""
        return self.wearing.clearance[self.vertices]


def make_case(wearing: Wearing, ground: Ground, cluster: Cluster) -> Case:
    """Cut the patch around a cluster out of its garment.

    Args:
        wearing: The garment.
        ground: The body, narrowed to the cluster's worst shape.
        cluster: The cluster.
    """
    garment, shape = wearing.fit.garment, cluster.worst.weights
    skin = is_on_body(cluster.fault)
    spot = (ground.body.vertices if skin else garment.vertices)[cluster.vertices]
    reach = PATCH_REACH + (float(np.median(np.abs(wearing.feet.clearance))) if skin else 0.0)
    chosen = near_spot(spot, garment.vertices, reach=reach)
    chosen |= np.isin(wearing.measuring.pieces.of_vertices, _stiff(wearing, chosen))
    kept = chosen[garment.faces].any(axis=1)
    vertices = np.unique(garment.faces[kept])
    number = np.zeros(len(garment.vertices), dtype=np.int64)
    number[vertices] = np.arange(len(vertices))
    patch = Garment(
        garment.name,
        garment.vertices[vertices],
        number[garment.faces[kept]],
        garment.part_names,
        garment.face_parts[kept],
        garment.strength[vertices],
    )
    moved = np.tensordot(shape, wearing.fit.deltas[:, vertices], axes=1)
    fit = Fit(ground.body, patch, wearing.fit.following, wearing.fit.base[vertices], moved[None])
    return Case(wearing, cluster, ground, np.ones(1) if shape.any() else np.zeros(1), vertices, fit)


def near_spot(spot: Float[np.ndarray, "M 3"], points: Points, *, reach: float = CORE_REACH) -> Bool[np.ndarray, " V"]:
    """Which points lie at a spot."""
    distances, _ = cKDTree(spot).query(points, distance_upper_bound=reach)
    return np.isfinite(np.asarray(distances))


def _stiff(wearing: Wearing, chosen: Bool[np.ndarray, " G"]) -> Int[np.ndarray, " P"]:
    """Hard pieces that the patch touches: they belong to it as a whole."""
    pieces = wearing.measuring.pieces
    touched = np.unique(pieces.of_vertices[chosen])
    return touched[pieces.hard[touched]]
