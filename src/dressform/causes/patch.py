"""The patch of cloth around one cluster, on the shape where the fault is worst, ready for counterfactuals."""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.spatial import cKDTree

from dressform.arrays import ClothPoints, Points, VertexScalars, Weights
from dressform.body.shapes import Shape
from dressform.body.skeleton import Skin
from dressform.body.stance import Stance
from dressform.causes.explained_body import SHAPE, ExplainedBody
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.results import Cluster
from dressform.faults.registry import is_on_body
from dressform.fit.fit import Fit
from dressform.fit.posed import posed_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.parts import Pieces
from dressform.lazy import lazy
from dressform.lift.feet import Feet, find_feet
from dressform.lift.lift import Lift, make_lift
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from dressform.repair.resolution import Resolution, measure_resolution

PATCH_REACH = 0.20
"""Cloth nearer than this to a cluster is lifted again with it, metres: the lift smooths far over where it hangs."""
CORE_REACH = 0.02
"""A fault counts where it is no farther than this from the cluster, metres."""
SKIN_REACH = 0.05
"""Bare skin is looked for no farther than this from the cluster, metres."""


@dataclass(frozen=True)
class Patch:
    """One cluster and the patch of cloth around it.

    Attributes:
        worn: The garment.
        cluster: The cluster.
        context: The body with one morph, which leads to the cluster's worst shape.
        weights: Its weight there, (1,): 1, or 0 for a cluster at the base.
        vertices: Vertices of the garment that belong to the patch, (N,).
        fit: The patch and how it follows that one morph.
    """

    worn: ExplainedGarment
    cluster: Cluster
    context: ExplainedBody
    weights: Weights
    vertices: Int[np.ndarray, " N"]
    fit: Fit

    @property
    def stance(self) -> Stance | None:
        """The stance at which the cluster is worst; None at rest."""
        return self.cluster.worst.stance

    @lazy
    def smooth_skin(self) -> Skin | None:
        """Joint weights of the patch lifted smoothly from the body; None at rest."""
        smooth = None if self.stance is None else self.worn.smooth_joints
        return None if smooth is None or smooth.skin is None else smooth.skin.at(self.vertices)

    @lazy
    def joint_swap(self) -> dict[str, Skin]:
        """The joint weights that take most of the fault away, under their kind, once they are known."""
        return {}

    @lazy
    def spot(self) -> Float[np.ndarray, "M 3"]:
        """Where the cluster is at the base, metres."""
        skin = is_on_body(self.cluster.fault)
        points = self.context.body.vertices if skin else self.worn.fit.garment.vertices
        return points[self.cluster.vertices]

    @lazy
    def core(self) -> Bool[np.ndarray, " N"]:
        """Vertices of the patch at the cluster."""
        return near_spot(self.spot, self.fit.garment.vertices)

    @lazy
    def core_skin(self) -> Bool[np.ndarray, " B"]:
        """Vertices of the body at the cluster."""
        return near_spot(self.spot, self.context.body.vertices)

    @lazy
    def skin(self) -> Bool[np.ndarray, " B"]:
        """Body vertices that take part in worn show-through: those at the cluster and around it."""
        return near_spot(self.spot, self.context.body.vertices, reach=SKIN_REACH)

    @lazy
    def pieces(self) -> Pieces:
        """The connected pieces of the whole garment, at the patch's vertices."""
        pieces = self.worn.pieces
        return replace(pieces, of_vertices=pieces.of_vertices[self.vertices])

    @lazy
    def meant(self) -> VertexScalars | None:
        """Clearance that the patch was modelled with."""
        return None if self.worn.meant is None else self.worn.meant[self.vertices]

    @lazy
    def near(self) -> Bool[np.ndarray, " N"]:
        """Vertices of the cloth at the cluster: corners of the triangles over it, and the core."""
        garment = self.fit.garment
        found = closest(Tree(garment.vertices, garment.faces), self.spot)
        near = self.core.copy()
        near[garment.faces[found.faces]] = True
        return near

    @lazy
    def resolution(self) -> Resolution:
        """The resolution test of the unchanged patch, at the base and on the cluster's worst shape."""
        shape = [Shape(SHAPE, self.weights)]
        if self.stance is None or self.fit.skin is None:
            return measure_resolution(self.fit, shapes=shape, tree=self.context.tree)
        return measure_resolution(posed_fit(self.fit, self.stance), shapes=shape)

    @lazy
    def plain(self) -> ClothPoints:
        """How the unchanged patch moves when it is lifted by itself, metres."""
        return self.lift(self.fit.garment, None).displacements(self.context.body.deltas)[0]

    def lift(
        self,
        garment: Garment,
        gated: tuple[Feet, Bool[np.ndarray, " W"]] | None,
        following: Following | None = None,
    ) -> Lift:
        """Lift the changed patch, on its own feet or on those given, by its own following or by another."""
        context = self.context
        feet, held = gated or (find_feet(context.tree, garment.vertices, garment.faces), None)
        return make_lift(
            context.body,
            garment,
            following or self.fit.following,
            tree=context.tree,
            feet=feet,
            held=held,
            skin_edge_length=context.skin_edge_length,
        )

    @lazy
    def under(self) -> tuple[Fit, ...]:
        """What is worn under the garment, and how it follows that one morph."""
        shape, body = self.cluster.worst.weights, self.context.body
        return tuple(
            Fit(body, one.garment, one.following, one.base, (one.at(shape) - one.base)[None], one.skin)
            for one in self.worn.under
        )

    @property
    def clearance(self) -> VertexScalars:
        """Clearance of the patch at the base, metres, (N,)."""
        return self.worn.clearance[self.vertices]


def cut_patch(worn: ExplainedGarment, context: ExplainedBody, cluster: Cluster) -> Patch:
    """Cut the patch around a cluster out of its garment.

    Args:
        worn: The garment.
        context: The body, narrowed to the cluster's worst shape.
        cluster: The cluster.
    """
    garment, shape = worn.fit.garment, cluster.worst.weights
    skin = is_on_body(cluster.fault)
    spot = (context.body.vertices if skin else garment.vertices)[cluster.vertices]
    reach = PATCH_REACH + (float(np.median(np.abs(worn.feet.clearance))) if skin else 0.0)
    chosen = near_spot(spot, garment.vertices, reach=reach)
    chosen |= np.isin(worn.pieces.of_vertices, _stiff(worn, chosen))
    kept = chosen[garment.faces].any(axis=1)
    vertices = np.unique(garment.faces[kept])
    number = np.zeros(len(garment.vertices), dtype=np.int64)
    number[vertices] = np.arange(len(vertices))
    cut = Garment(
        garment.name,
        garment.vertices[vertices],
        number[garment.faces[kept]],
        garment.part_names,
        garment.face_parts[kept],
        garment.strength[vertices],
    )
    moved, joints = (worn.fit.at(shape) - worn.fit.base)[vertices], worn.fit.skin
    carried = None if joints is None else joints.at(vertices)
    fit = Fit(context.body, cut, worn.fit.following, worn.fit.base[vertices], moved[None], carried)
    return Patch(worn, cluster, context, np.ones(1) if shape.any() else np.zeros(1), vertices, fit)


def near_spot(spot: Float[np.ndarray, "M 3"], points: Points, *, reach: float = CORE_REACH) -> Bool[np.ndarray, " V"]:
    """Mask of the points near a spot."""
    distances, _ = cKDTree(spot).query(points, distance_upper_bound=reach)
    return np.isfinite(np.asarray(distances))


def _stiff(worn: ExplainedGarment, chosen: Bool[np.ndarray, " G"]) -> Int[np.ndarray, " P"]:
    """Hard pieces that the patch touches; each belongs to the patch as a whole."""
    pieces = worn.pieces
    touched = np.unique(pieces.of_vertices[chosen])
    return touched[pieces.hard[touched]]
