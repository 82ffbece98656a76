"""A garment on one shape of its body at a stance: every fault as a field, with what the pose itself does left out."""

from collections.abc import Mapping

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints
from dressform.body.stance import carry
from dressform.faults.broken import folded
from dressform.faults.look import Look
from dressform.faults.posed.at_stance import AtStance
from dressform.faults.posed.blend import carried_on
from dressform.faults.posed.through import PosedThrough
from dressform.faults.prepared import PreparedGarment
from dressform.faults.pucker import posed_pucker_index, pucker_index
from dressform.faults.self_crossing import pressed
from dressform.faults.stretch import departure, metrics, skin_metrics
from dressform.lazy import lazy
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.intersect import tree_self_crossings
from dressform.mesh.tree import Tree

ANYONES = 0.5
"""Share of the turn of the pose by which a sound garment may lag or lead. Common practice, no source."""


class PosedLook(Look):
    """Everything measured on one shape at one stance, computed on first use.

    A pose turns, bends and presses together whatever follows the joints, the skin itself too. So the form of the cloth
    is judged against *cloth that follows smoothly*: the same cloth on the same shape, carried by joint weights lifted
    smoothly from the body. What that cloth suffers from the pose is the pose's; what this one suffers beyond it, and
    what it suffers on the shape at rest, is its own. Cloth that stays sound in itself, such as a rigid part on one
    joint, is sound. So is cloth that suffers no more than the skin under it. Where the blend folds that skin nothing
    that turns over or crosses is blamed on the cloth.

    Args:
        worn: The garment on its body.
        there: The stance.
        rest: The same shape at rest.
    """

    def __init__(self, worn: PreparedGarment, there: AtStance, rest: Look) -> None:
        super().__init__(worn, rest.weights)
        self.there, self.rest = there, rest

    @property
    def stance(self) -> str:
        """Name of the pose."""
        return self.there.stance.pose

    @property
    def joints(self) -> Mapping[str, float]:
        """Values of the sliders that move joints."""
        return self.there.stance.sliders

    @lazy
    def body_tree(self) -> Tree:
        """The body's triangles."""
        return self.worn.context.at(self.weights, self.there.stance)

    @lazy
    def cloth_tree(self) -> Tree:
        """The cloth's triangles."""
        posed = self.worn.fit.posed_at(self.weights, self.there.stance)
        there = carry(self.there.cloth_on(self.weights), self.rest.cloth) if posed is None else posed
        return self.worn.base_cloth.refit(there)

    @lazy
    def smooth(self) -> ClothPoints:
        """The cloth where it would follow the pose smoothly, (G, 3), metres."""
        return self.cloth if self.there.is_smooth else carry(self.there.smooth_on(self.weights), self.rest.cloth)

    @lazy
    def through(self) -> PosedThrough:
        """Show-through in full."""
        return PosedThrough(self.worn.through, self.cloth_tree, self.body_tree, shaped=self.rest.body, there=self.there)

    @lazy
    def clearance_change(self) -> Float[np.ndarray, " G"]:
        """Clearance minus clearance at the base, metres, (G,): that of the shape at rest, and what joint weights add.

        Bent, a loose leg closes behind the knee, whoever cut it: the blend takes all that stands off the skin there
        together. So the pose counts only as far as the cloth stands higher or lower over its own foot than cloth that
        follows smoothly; where the blend folds the skin nothing counts. What comes to lie in the body is another fault.
        """
        rest = self.rest.clearance_change
        if self.there.is_smooth:
            return rest
        sides = self.worn.sides
        ways = np.einsum("gc,gcx->gx", sides.barycentric, self.through.normals[self.body_faces[sides.nearest]])
        lengths = np.maximum(np.linalg.norm(ways, axis=1), np.finfo(float).tiny)
        higher = np.einsum("gx,gx->g", self.cloth - self.smooth, ways) / lengths
        return np.where(self._over_folds, rest, rest + higher)

    @lazy
    def _over_folds(self) -> Bool[np.ndarray, " G"]:
        """Whether the blend folds the skin under the foot of each vertex, (G,)."""
        return self.through.folded_skin[self.worn.sides.nearest]

    @lazy
    def windows(self) -> Float[np.ndarray, " S"]:
        """Pucker index of every window beyond that of cloth that follows smoothly, (S,)."""
        windows, there = self.worn.windows, self.there
        stations = windows.stations
        index = posed_pucker_index(windows, self.rest.cloth, self.cloth, there.smooth_on(self.weights))
        if not there.is_smooth:
            index = np.minimum(index, pucker_index(windows, self.cloth))
            index = np.maximum(index - there.skin_pucker[self.worn.foot_vertices[stations]], 0.0)
        return np.where(windows.tells, index, 0.0)

    @lazy
    def bent(self) -> Float[np.ndarray, " G"]:
        """Turn of the cloth from where smooth following would have it face, radians, (G,).

        The larger of the turn at rest and that of the pose beyond `ANYONES` of what the pose turns; hard parts, which
        bend nowhere, have none by the pose.
        """
        if self.there.is_smooth:
            return self.rest.bent
        leaders, faces = self.worn.leaders, self.cloth_faces
        still, there, meant = (
            vertex_normals(points, leaders[faces])[leaders] for points in (self.rest.cloth, self.cloth, self.smooth)
        )
        beyond = _angles(there, meant) - ANYONES * _angles(still, meant)
        beyond[self.worn.pieces.hard_vertices()] = 0.0
        return np.maximum(self.rest.bent, beyond)

    @lazy
    def relative(self) -> Float[np.ndarray, " F"]:
        """How far each triangle lengthens or shortens beyond both its skin and itself, |ln|, (F,): the least of three.

        Beyond the skin as cloth that follows the pose smoothly carries it on, the skin on the shape at rest, and the
        skin at the stance.
        """
        if self.there.is_smooth:
            return self.rest.relative
        worn = self.worn
        shaped = metrics(worn.triangles, self.rest.cloth)
        skin = skin_metrics(worn.skin_stretch, worn.triangles, self.rest.body)
        carried = carried_on(skin, shaped, metrics(worn.triangles, self.smooth))
        there = skin_metrics(worn.skin_stretch, worn.triangles, self.body)
        return np.asarray(np.min([departure(self._metric, each) for each in (carried, skin, there)], axis=0))

    @lazy
    def folded(self) -> Int[np.ndarray, " N"]:
        """Triangles newly turned over, but for those that smooth following turns over by the pose alone, (N,)."""
        faces = self.cloth_faces
        found = folded(self.cloth, faces) & ~self.worn.own_folds & ~self._over_folds[faces].any(axis=1)
        if found.any():
            found &= ~folded(self.smooth, faces) | folded(self.rest.cloth, faces)
        return np.flatnonzero(found)

    @lazy
    def crossing(self) -> Int[np.ndarray, "P 2"]:
        """Pairs of triangles that newly cross, but for those that smooth following has cross by the pose alone, (P, 2).

        As at rest, those are left out for which the body itself has no room.
        """
        at_rest = self.rest.newly_crossing
        if self.there.is_smooth and not len(at_rest):
            return at_rest
        pairs = tree_self_crossings(self.cloth_tree)
        numbers = self.worn.pair_numbers(pairs)
        known = self.worn.pair_numbers(at_rest)
        if self.there.is_smooth:
            kept = np.isin(numbers, known)
        else:
            smooth = self.worn.pair_numbers(tree_self_crossings(self.worn.base_cloth.refit(self.smooth)))
            kept = ~np.isin(numbers, self.worn.own_crossings) & (~np.isin(numbers, smooth) | np.isin(numbers, known))
        pairs = pairs[kept & ~self._over_folds[self.cloth_faces[pairs]].any(axis=(1, 2))]
        if not len(pairs):
            return pairs
        return pairs[~pressed(self.body_tree, self.worn.sides, self.cloth_faces, pairs, self.through.normals)]

    @lazy
    def worn_under(self) -> list[ClothPoints]:
        """Vertices of the garments worn under it, metres."""
        posed = [fit.posed_at(self.weights, self.there.stance) for fit in self.worn.under]
        worn = zip(self.there.under_on(self.weights), self.worn.under, posed)
        return [carry(maps, fit.at(self.weights)) if there is None else there for maps, fit, there in worn]


def _angles(first: Float[np.ndarray, "G 3"], second: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, " G"]:
    """Angle between two directions at each vertex, radians, (G,)."""
    across = np.linalg.norm(np.cross(first, second), axis=1)
    return np.arctan2(across, np.einsum("gx,gx->g", first, second))
