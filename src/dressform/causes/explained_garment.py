"""A garment whose faults are explained: data that the swaps of all its clusters share."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array

from dressform.arrays import ClothDeltas, VertexScalars
from dressform.body.body import Body
from dressform.body.skeleton import Skin
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.extremities import WholePiece, find_whole
from dressform.causes.gates import Gates, find_gates
from dressform.causes.origin import Origin, find_origin
from dressform.causes.room import room_around
from dressform.errors import ArgumentError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.skin.hidden_skin import thickness
from dressform.faults.wardrobe import MAX_KEPT, Wardrobe
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import choose_joints, keeps_own, on_one_joint
from dressform.garment.along import paths_along
from dressform.garment.following import HEAVIEST, LIFTED, NEAREST_PART, ONE_JOINT, OWN, SMOOTHED
from dressform.lazy import lazy
from dressform.lift.feet import Feet, find_feet
from dressform.lift.lift import Lift, make_lift
from dressform.lift.rows import foot_rows
from dressform.repair.whole.footprint import growth_factors

TRIED = (LIFTED, SMOOTHED, NEAREST_PART, OWN)
"""Kinds of joint weights that are tried in place of those that a garment has."""

Others = Sequence[Body] | Callable[[], Sequence[Body]]


class ExplainedGarment(GarmentOnBody):
    """A garment on its body, with the data that the swaps of all its clusters share.

    Args:
        fit: The garment's fit. context: Its body. bands: As for `GarmentOnBody`.
        others: Other base bodies on which it may have been modelled, or what finds them when they are asked for.
    """

    context: ExplainedBody

    def __init__(
        self,
        fit: Fit,
        *,
        context: ExplainedBody | None = None,
        bands: Bands = DEFAULT_BANDS,
        under: Sequence[Fit] = (),
        others: Others = (),
    ) -> None:
        super().__init__(fit, context=context or ExplainedBody(fit.body), bands=bands, under=under)
        self._others = others
        self._whole: dict[ExplainedBody, tuple[WholePiece, ...]] = {}

    @lazy
    def origin(self) -> Origin | None:
        """The shape that it was modelled on, where that is not the base body."""
        return find_origin(self.fit, self.clearance, others=self._others() if callable(self._others) else self._others)

    @property
    def meant(self) -> VertexScalars | None:
        """Clearance that each vertex had on that shape, metres, (G,)."""
        return None if self.origin is None else self.origin.meant

    @property
    def margin(self) -> float:
        """Clearance that should remain, metres."""
        return self.fit.following.margin

    @property
    def clearance(self) -> VertexScalars:
        """Distance of each vertex from the base body, negative inside, metres, (G,)."""
        return self.sides.signed

    @lazy
    def room(self) -> VertexScalars:
        """Clearance that each vertex should have, metres, (G,): where it is too tight, what the cloth around has."""
        return room_around(self.fit.garment, self.clearance, self.margin)

    @lazy
    def feet(self) -> Feet:
        """Where it stands at the base."""
        return find_feet(self.context.tree, self.fit.garment.vertices, self.fit.garment.faces)

    @lazy
    def _lift(self) -> Lift:
        """How it is bound to its body, without repairs."""
        return make_lift(self.fit.body, self.fit.garment, self.fit.following, tree=self.context.tree)

    @lazy
    def plain(self) -> ClothDeltas:
        """How it would move as lifted, without repairs, (K, G, 3), metres."""
        return self._lift.displacements(self.fit.body.deltas)

    @lazy
    def plain_skin(self) -> Skin | None:
        """The joint weights that it would have without repairs."""
        return choose_joints(self._lift, self.fit.following).skin

    @lazy
    def skin_weights(self) -> Skin:
        """The body's joint weights at its feet.

        Raises:
            ArgumentError: the body has none.
        """
        body = self.fit.body
        if body.skin is None or body.skeleton is None:
            rule, observed = "on a body with joint weights", f"{body.name!r} without"
            raise ArgumentError.of("ExplainedGarment.skin_weights", "self", rule, observed, "Look at rest alone")
        return Skin.from_dense(self._lift.foot_rows @ body.skin.dense(len(body.skeleton.names)))

    @lazy
    def stiff_parts(self) -> tuple[str, ...]:
        """Parts all of whose vertices belong to hard pieces."""
        hard, garment = self.pieces.hard_vertices(), self.fit.garment
        parts = enumerate(garment.part_names)
        return tuple(name for part, name in parts if hard[garment.faces[garment.face_parts == part]].all())

    @lazy
    def joint_skins(self) -> Mapping[str, Skin]:
        """Joint weights of every kind but its own at present, by kind; `one-joint` puts its stiff parts on one each."""
        fit, body = self.fit, self.fit.body
        if body.skin is None or body.skeleton is None or fit.skin is None:
            return {}
        now = fit.following.joint_weights
        if now == OWN and not keeps_own(fit):
            now = LIFTED
        kinds = [kind for kind in TRIED if kind != now]
        found = {}
        for kind in kinds:
            chosen = choose_joints(self._lift, replace(fit.following, joint_weights=kind))
            if chosen.kind == kind and chosen.skin is not None:
                found[kind] = chosen.skin
        missing = {part: HEAVIEST for part in self.stiff_parts if part not in fit.following.part_joints}
        if missing and len(self.stiff_parts) < len(fit.garment.part_names):
            found[ONE_JOINT] = on_one_joint(fit, missing)
        return found

    @lazy
    def lift_vertices(self) -> Int[np.ndarray, " G"]:
        """Body vertex nearest to each of these feet."""
        return self.context.body.faces[self.feet.faces, np.argmax(self.feet.barycentric, axis=1)]

    @lazy
    def factors(self) -> Float[np.ndarray, "G 2"]:
        """By how much skin grows from each foot out to the cloth, in both principal directions."""
        tensors = foot_rows(self.feet, self.context.tree) @ self.context.tensors.reshape(-1, 9)
        return growth_factors(self.feet, tensors.reshape(-1, 3, 3))

    @lazy
    def paths(self) -> csr_array:
        """Path lengths along the cloth between its vertices, metres."""
        return paths_along(self.fit.garment.vertices, self.fit.garment.faces)

    @lazy
    def thickness(self) -> VertexScalars:
        """Thickness of the body under each foot, metres, (G,); infinite where a line inward never leaves it."""
        return thickness(self.context.tree, self.feet.points, -self.feet.normals)

    def whole_on(self, context: ExplainedBody) -> tuple[WholePiece, ...]:
        """Pieces that must follow a part of the body as a whole, on the shape that a body was narrowed to."""
        if context not in self._whole:
            self._whole[context] = find_whole(
                context,
                self.feet,
                self.paths,
                on=self.lift_vertices,
                thickness=self.thickness,
                factors=self.factors,
            )
        return self._whole[context]

    @lazy
    def gates(self) -> Gates:
        """Feet that the cloth does not lead to; those of stiff parts are no cloth's."""
        found = find_gates(self.context, self.fit.garment, self.feet, self.lift_vertices, self.paths)
        return replace(found, gated=found.gated & ~self.pieces.hard_vertices())


def explained_wardrobe(
    *, bands: Bands = DEFAULT_BANDS, others: Others = (), kept: int = MAX_KEPT
) -> Wardrobe[ExplainedGarment]:
    """A wardrobe for checks with causes.

    Args:
        bands: From which value on a fault is slight, moderate, grave.
        others: As for `ExplainedGarment`.
        kept: So many garments are kept prepared.
    """
    return Wardrobe(partial(ExplainedGarment, bands=bands, others=others), make_context=ExplainedBody, kept=kept)
