"""A garment on a body: measures every fault on any shape. Data that shapes share is prepared once."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import replace
from typing import TypeVar

import numpy as np
from jaxtyping import Bool

from dressform.arrays import VertexScalars, Weights
from dressform.body.skeleton import Skin
from dressform.body.stance import Stance
from dressform.errors import ArgumentError, MatchError
from dressform.faults.bent import seen_turn
from dressform.faults.body_context import BodyContext
from dressform.faults.ease import girth_ease
from dressform.faults.graded.clearance import measure_clearance_change
from dressform.faults.look import Look
from dressform.faults.posed.look import PosedLook
from dressform.faults.prepared import PreparedGarment
from dressform.faults.pucker import WINDOW_RADIUS, measure_pucker
from dressform.faults.registry import ALL_FAULTS, FAULT_LAYERS, FAULT_OF
from dressform.faults.results import Broken, ShapeFaults, ShapeFields
from dressform.faults.severity import DEFAULT_BANDS, Bands, graded_values
from dressform.faults.stretch import measure_stretch
from dressform.faults.whereabouts import Whereabouts, all_places, name_whereabouts
from dressform.fit.fit import Fit
from dressform.garment.parts import Pieces
from dressform.lazy import lazy
from dressform.lift.lift import Lift

Worn = TypeVar("Worn", bound="GarmentOnBody")


class GarmentOnBody(PreparedGarment):
    """All faults of one garment on any shape of one body.

    Form and clearance are measured against the garment as its maker modelled it. What lies in the body at the base
    is graded as `at_base` and not counted again on other shapes. After a repair the base is the repaired base: nothing
    is forgiven because the maker's base had it.

    Args:
        fit, context, radius, levels, under: As for `PreparedGarment`.
        bands: Values from which a fault is slight, moderate and grave.
        pieces, skin, meant, smooth_skin: As for `PreparedGarment`.

    Raises:
        MatchError: `context` is of another body, or a garment under this one was fitted to another.
        ArgumentError: `radius` is not positive, or a level misses the body.
    """

    def __init__(
        self,
        fit: Fit,
        *,
        context: BodyContext | None = None,
        bands: Bands = DEFAULT_BANDS,
        radius: float = WINDOW_RADIUS,
        levels: Mapping[str, float] | None = None,
        under: Sequence[Fit] = (),
        pieces: Pieces | None = None,
        skin: Bool[np.ndarray, " B"] | None = None,
        meant: VertexScalars | None = None,
        smooth_skin: Skin | None = None,
    ) -> None:
        super().__init__(
            fit, context=context, radius=radius, levels=levels, under=under, pieces=pieces, skin=skin, meant=meant,
            smooth_skin=smooth_skin,
        )  # fmt: skip
        self.bands = bands
        self._look: Look | None = None
        self._posed: PosedLook | None = None

    def prepare(self) -> "GarmentOnBody":
        """Compute the base data that `measure` needs now, so that the first shape takes no longer than others."""
        for name in (
            "at_base", "through", "windows", "smooth_lift", "triangles", "skin_stretch", "tapes", "own_gaps", "pieces",
            "own_folds", "own_crossings", "orders", "where", "_region_masks",
        ):  # fmt: skip
            getattr(self, name)
        return self

    def forget(self) -> None:
        """Let go of the shapes looked at last: they hold this object in turn, so memory would be freed late."""
        self._look, self._posed, self._stances = None, None, ()

    def measure(self, weights: Weights, stance: Stance | None = None) -> ShapeFaults:
        """Measure every fault of the shape at `weights`, at rest or at a stance: how bad each is, and where.

        Raises: As `look`.
        """
        return self._measured(self.look(weights, stance))

    def fields(self, weights: Weights, stance: Stance | None = None) -> ShapeFields:
        """The same faults as fields over body and cloth, for pictures."""
        return self._fields(self.look(weights, stance))

    def both(self, weights: Weights, stance: Stance | None = None) -> tuple[ShapeFaults, ShapeFields]:
        """The results of `measure` and `fields`, computed together."""
        look = self.look(weights, stance)
        return self._measured(look), self._fields(look)

    def _measured(self, look: Look) -> ShapeFaults:
        broken = Broken(
            folded_faces=len(look.folded),
            crossing_pairs=len(look.crossing),
            cut_area=float(look.cut.sum()),
            cut_depth=float(look.cut_depths.max(initial=0.0)),
            seam_opening=float(look.gaps.max(initial=0.0)),
            hard_bend=float(look.bends.max(initial=0.0)),
            layer_swaps=len(np.unique(np.concatenate([np.zeros(0, int), *(one.outer for one in look.swaps)]))),
            folded_area=float(look.folded_area.sum()),
            swapped_area=float(look.swapped.sum()),
            pierced_area=float(look.pierced.sum()),
            bent=seen_turn(look.bent, self.areas, look.own_turn),
        )
        found = ShapeFaults(
            weights=look.weights,
            at_base=self.at_base,
            show_through=look.through.result,
            pucker=measure_pucker(self.windows, look.windows),
            stretch=measure_stretch(self.triangles, look.stretches, look.relative),
            clearance_change=measure_clearance_change(look.clearance_change, self.areas, self._region_masks),
            girth_ease={} if look.stance else girth_ease(self.tapes, look.body, look.cloth),
            broken=broken,
            places=(),
            severities={},
            stance=look.stance,
            joints=dict(look.joints),
        )
        graded = graded_values(found)
        severities = {fault: self.bands.grade(fault, value) for fault, value in graded.items()}
        return replace(found, places=all_places(self.where, look, self.bands, graded), severities=severities)

    def _fields(self, look: Look) -> ShapeFields:
        hidden = np.zeros(len(look.body), dtype=bool)
        hidden[self.through.hidden.vertices] = True
        return ShapeFields(look.body, look.cloth, hidden, {layer.name: layer.field(look) for layer in FAULT_LAYERS})

    def field(self, fault: str, weights: Weights, stance: Stance | None = None) -> VertexScalars:
        """One fault at each vertex of the surface that it lies on; nothing else is computed.

        At the base, where `measure` finds nothing by definition, a fault may have a field of its own: how deep the
        cloth lies in the body, and its clearance minus the intended clearance.

        Raises:
            ArgumentError: the fault has no field; those that have one are listed.
        """
        known = FAULT_OF.get(fault)
        if known is None or known.field is None:
            valid = ", ".join(one.key for one in ALL_FAULTS if one.field is not None)
            raise ArgumentError.of("GarmentOnBody.field", "fault", f"one of {valid}", repr(fault), "Use one of these")
        if known.at_base is not None and stance is None and not np.any(weights):
            return known.at_base(self)
        return known.field(self.look(weights, stance))

    def over(self: Worn, under: Sequence[Fit]) -> Worn:
        """The same garment worn over others, with all that is prepared already."""
        worn = copy(self)
        worn.under = tuple(under)
        for name in ("orders", "below"):
            worn.__dict__.pop(name, None)
        worn._look, worn._posed, worn._stances = None, None, ()
        return worn

    def carried_by(self: Worn, skin: Skin) -> Worn:
        """The same garment with other joint weights, with all that is prepared already: at rest nothing changes."""
        worn = copy(self)
        worn.fit = replace(self.fit, skin=skin)
        worn._posed, worn._stances = None, ()
        if self._smooth_skin is None and self._pieces is None:
            worn.__dict__["smooth_joints"] = self.smooth_joints
        return worn

    def following_as(self: Worn, fit: Fit, smooth: Lift) -> Worn:
        """The same cloth following otherwise, with all that is prepared already of the base that both stand on.

        Args:
            fit: The same garment on the same base, with other displacements, strength or joint weights.
            smooth: How it would follow smoothly, with the strength of this fit.

        Raises:
            MatchError: the cloth of the fit is another, or stands elsewhere at the base.

        Proof: tests/faults/test_following_as.py
        """
        if not np.array_equal(fit.base, self.fit.base) or not np.array_equal(
            fit.garment.vertices, self.fit.garment.vertices
        ):
            raise MatchError(
                f"GarmentOnBody.following_as: `fit` must be of {self.fit.garment.name!r} on the same base, got "
                f"{fit.garment.name!r} elsewhere. Prepare it by itself."
            )
        joints = (
            None if self._pieces is not None or self._smooth_skin is not None else self.__dict__.get("smooth_joints")
        )
        worn = copy(self)
        worn.fit = fit
        worn._cloth, worn._look, worn._posed, worn._stances = None, None, None, ()
        for name in ("smooth_joints", "smooth_lift"):
            worn.__dict__.pop(name, None)
        worn.__dict__["own_lift"] = smooth
        if joints is not None:
            worn.__dict__["smooth_joints"] = replace(fit, skin=joints.skin, correctives=())
        return worn

    def lies_over(self, other: "GarmentOnBody") -> bool:
        """Whether this garment is worn over another of the same body: at the base that way round pierces less."""
        start = np.zeros(len(self.body.morph_names))
        over = self.over([other.fit]).look(start).pierced.sum()
        return bool(over < other.over([self.fit]).look(start).pierced.sum())

    def look(self, weights: Weights, stance: Stance | None = None) -> Look:
        """The garment on a shape, at rest or at a stance; the last one of each is cached.

        Raises:
            ArgumentError: there is not one finite weight per morph, or body or cloth have no joint weights.
            MatchError: the stance is of another skeleton.
        """
        if len(weights) != len(self.body.morph_names) or not np.all(np.isfinite(weights)):
            raise ArgumentError.of(
                "GarmentOnBody.look",
                "weights",
                f"{len(self.body.morph_names)} finite weights",
                np.array2string(np.asarray(weights), threshold=8),
                "Give one weight per morph of the body",
            )
        kept = self._look  # read once: another thread may replace it
        if kept is None or not np.array_equal(kept.weights, weights):
            kept = self._look = Look(self, np.array(weights, dtype=np.float64))
        if stance is None:
            return kept
        posed = self._posed
        if posed is None or posed.rest is not kept or posed.there.stance is not stance:
            posed = self._posed = PosedLook(self, self.at(stance), kept)
        return posed

    @lazy
    def where(self) -> Whereabouts:
        """The names of the garment's places."""
        return name_whereabouts(self)

    @lazy
    def _region_masks(self) -> dict[str, Bool[np.ndarray, " G"]]:
        """Cloth vertices over each region of the body."""
        return {name: mask[self.foot_vertices] for name, mask in self.body.regions.items()}
