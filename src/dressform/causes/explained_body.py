"""A body whose garments' faults are explained: data that all swaps share, prepared once."""

from dataclasses import replace

import numpy as np
from jaxtyping import Bool, Float
from scipy.sparse import csr_array

from dressform.arrays import VertexScalars, Weights
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.causes.roughness import Brush
from dressform.causes.tape_lines import TapeLines, find_tape_lines
from dressform.errors import ArgumentError
from dressform.faults.body_context import BodyContext
from dressform.faults.rim_step import RigidPatches, find_rigid_patches
from dressform.garment.along import paths_along
from dressform.lazy import lazy
from dressform.mesh.geometry import vertex_edge_length
from dressform.repair.blend_rims import without_jumps
from dressform.repair.whole.footprint import curvature_tensors
from dressform.repair.whole.moving_ends import LimbMotion

SAME = ("tree", "trusted", "areas", "skin_edge_length", "tensors", "paths", "limbs", "brush", "standing", "trunk")
"""What does not depend on the morphs: shared with a narrowed body."""
MEASURED = ("tree", "trusted", "areas", "standing", "trunk")
"""What is asked for where no causes are sought."""
RIM = 1e-4
"""Skin that the smoothing of rims moves by more than this belongs to a rim, metres."""
SHAPE = "shape"
"""Name of the only morph of a body that is looked at on one shape."""


class ExplainedBody(BodyContext):
    """A body with the data that the swaps of all garments on it share."""

    shapes_kept = 32

    def __init__(self, body: Body) -> None:
        super().__init__(body)
        self._calm: Float[np.ndarray, "B 3"] | None = None
        self._rigid_patches: dict[int, RigidPatches] = {}
        self._smoothed: dict[int, Float[np.ndarray, "B 3"]] = {}

    def prepare(self, *, causes: bool) -> "ExplainedBody":
        """Compute all that garments ask of the body itself, as is worth doing once for several processes.

        Args:
            causes: Whether causes are sought, which ask for more.
        """
        for name in SAME if causes else MEASURED:
            getattr(self, name)
        for morph in range(len(self.body.morph_names) if causes else 0):
            if self.rigid_patches(morph).found:
                self.without_rim_steps(morph)
        return self

    @lazy
    def skin_edge_length(self) -> VertexScalars:
        """Length of the edges around each vertex, metres."""
        return vertex_edge_length(self.body.vertices, self.body.faces)

    @lazy
    def tensors(self) -> Float[np.ndarray, "B 3 3"]:
        """Curvature of the base body."""
        return curvature_tensors(self.body.vertices, self.body.faces)

    @lazy
    def paths(self) -> csr_array:
        """Path lengths along the skin between its vertices, metres."""
        return paths_along(self.body.vertices, self.body.faces)

    @lazy
    def tape_lines(self) -> TapeLines:
        """Tape lines from which places are measured."""
        return find_tape_lines(self.standing, self.trunk)

    def rigid_patches(self, morph: int) -> RigidPatches:
        """The rigid patches of one morph."""
        if morph not in self._rigid_patches:
            self._rigid_patches[morph] = find_rigid_patches(
                self.body.vertices, self.body.faces, self.body.deltas[morph]
            )
        return self._rigid_patches[morph]

    def without_rim_steps(self, morph: int) -> Float[np.ndarray, "B 3"]:
        """The displacement of one morph smoothed around the rims of its rigid patches."""
        if morph not in self._smoothed:
            self._smoothed[morph] = without_jumps(
                self.body, self.body.deltas[morph], self.rigid_patches(morph).rigid_patches
            )
        return self._smoothed[morph]

    @lazy
    def limbs(self) -> LimbMotion:
        """Averages over the limb around each vertex."""
        return LimbMotion(self.body.vertices, self.body.faces)

    @lazy
    def brush(self) -> Brush:
        """What takes noise out of displacements."""
        return Brush(self.body.vertices, self.body.faces)

    @lazy
    def rims(self) -> Bool[np.ndarray, " B"]:
        """Skin at the rims of rigid patches of a narrowed body, (B,)."""
        return np.asarray(np.linalg.norm(self.calm - self.body.deltas[0], axis=1) > RIM)

    @lazy
    def even(self) -> "ExplainedBody":
        """A narrowed body whose morph has no noise; the rims of rigid patches stay as they are."""
        delta = self.body.deltas[0]
        change = np.where(self.rims[:, None], 0.0, self.brush.smoothed(delta) - delta)
        return self._with_shape(delta + change, self.calm + change)

    @lazy
    def own_motion(self) -> VertexScalars:
        """Difference of the skin's motion from its limb's on the only shape of a narrowed body, (B,), no unit.

        Measured without rigid patches, because the rim of a rigid patch turns too.
        """
        return self.limbs.own_motion(self.calm)

    @property
    def calm(self) -> Float[np.ndarray, "B 3"]:
        """Displacement of the only morph of a narrowed body, without rim steps.

        Raises:
            ArgumentError: the body has not been narrowed.
        """
        if self._calm is None:
            raise ArgumentError.of(
                "ExplainedBody.calm", "self", "narrowed to one shape", "a whole body", "Call `narrowed`"
            )
        return self._calm

    def narrowed(self, weights: Weights) -> "ExplainedBody":
        """The same body with one morph only, which leads from the base body to the shape at `weights`.

        A fit is linear, so the shape can be examined at weight 1 of that morph, at less cost.
        """
        delta = np.tensordot(weights, self.body.deltas, axes=1)
        calm = delta.copy()
        for morph in np.flatnonzero(weights):
            if self.rigid_patches(int(morph)).found:
                calm += weights[morph] * (self.without_rim_steps(int(morph)) - self.body.deltas[morph])
        return self._with_shape(delta, calm)

    def _with_shape(self, delta: Float[np.ndarray, "B 3"], calm: Float[np.ndarray, "B 3"]) -> "ExplainedBody":
        """The same body with this displacement as its only morph."""
        narrow = ExplainedBody(replace(self.body, morph_names=(SHAPE,), deltas=delta[None], range=Range.unit((SHAPE,))))
        narrow._calm = calm
        narrow.__dict__.update({name: getattr(self, name) for name in SAME})
        return narrow
