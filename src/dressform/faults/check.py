"""The check: every fault of a garment on any shape, with all that no shape changes prepared once."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.errors import ArgumentError, MatchError
from dressform.faults.broken import folded, hard_bends, seam_gaps
from dressform.faults.ease import girth_ease, make_tapes
from dressform.faults.graded.clearance import measure_clearance_change
from dressform.faults.layers import find_orders, swapped
from dressform.faults.look import Look
from dressform.faults.pucker import WINDOW_RADIUS, measure_pucker, pucker_index, pucker_windows
from dressform.faults.registry import FAULT_LAYERS
from dressform.faults.results import Broken, ShapeFaults, ShapeFields
from dressform.faults.severity import Bands, graded_values
from dressform.faults.show_through import base_normals, look_for_show_through, prepare_show_through
from dressform.faults.stretch import (
    base_triangles,
    log_stretch,
    mean_at_vertices,
    measure_stretch,
    metrics,
    principal_stretches,
    skin_metrics,
    skin_stretch,
)
from dressform.faults.whereabouts import all_places, name_whereabouts
from dressform.fit.fit import Fit
from dressform.garment.parts import find_pieces, seam_pairs
from dressform.mesh.intersect import tree_self_crossings
from dressform.mesh.tree import Tree

DEFAULT_BANDS = Bands()


class FaultCheck:
    """All faults of one garment on any shape of one body.

    Everything is measured against the garment as its maker modelled it, at the base: what is wrong there
    already is the garment's own and is not counted again on other shapes.

    Args:
        body: The body.
        fit: The garment that follows it.
        bands: From which value on a fault is slight, moderate, grave.
        radius: Radius of the windows in which pucker is judged, metres.
        levels: Heights at the base at which a tape is laid, by name, metres; by default those that the trunk
            shows.
        under: Fits of the garments worn under this one, for layers that swap order.

    Raises:
        MatchError: a fit and the body differ in their morphs.
        ArgumentError: `radius` is not positive, or a level misses the body.
    """

    def __init__(
        self,
        body: Body,
        fit: Fit,
        *,
        bands: Bands = DEFAULT_BANDS,
        radius: float = WINDOW_RADIUS,
        levels: Mapping[str, float] | None = None,
        under: Sequence[Fit] = (),
    ) -> None:
        for each in (fit, *under):
            if each.morph_names != body.morph_names:
                raise MatchError(
                    f"FaultCheck: the fit of {each.garment.name!r} must have the morphs of {body.name!r}, "
                    f"{list(body.morph_names)}, got {list(each.morph_names)}. Fit the garment to this body."
                )
        garment = fit.garment
        self.body, self.fit, self.bands, self.under = body, fit, bands, tuple(under)
        self._body_tree = Tree(body.vertices, body.faces)
        self._cloth_tree = Tree(garment.vertices, garment.faces)
        self._through = prepare_show_through(self._cloth_tree, self._body_tree)
        feet = self._through.sides
        self._windows = pucker_windows(garment.vertices, garment.faces, radius=radius)
        self._triangles = base_triangles(garment.vertices, garment.faces)
        self._skin_stretch = skin_stretch(body.vertices, body.faces, feet.nearest, feet.barycentric)
        self._tapes = make_tapes(body, garment.vertices, garment.faces, feet.nearest, levels=levels)
        self._seams = seam_pairs(garment.vertices)
        self._own_gaps = seam_gaps(self._seams, garment.vertices)
        self._pieces = find_pieces(garment)
        self._pair_key = np.array([len(garment.faces), 1])
        self._own_folds = folded(garment.vertices, garment.faces)
        self._own_crossings = tree_self_crossings(self._cloth_tree) @ self._pair_key
        outward = base_normals(self._through, self._body_tree)
        worn = [(each.garment.vertices, each.garment.faces) for each in self.under]
        self._orders = find_orders(garment.vertices, garment.faces, garment.face_parts, outward, under=worn)
        self._where = name_whereabouts(body, garment, self._through, outward, self._seams)
        feet_on = self._where.foot_vertices
        self._region_masks = {name: mask[feet_on] for name, mask in body.regions.items()}

    def measure(self, weights: Weights) -> ShapeFaults:
        """Every fault of the shape at `weights`, how bad each is, and where.

        Raises:
            ArgumentError: there is not one finite weight per morph.
        """
        return self._faults(self._look(weights), weights)

    def fields(self, weights: Weights) -> ShapeFields:
        """The same faults as fields over body and cloth, for pictures."""
        return self._fields(self._look(weights))

    def both(self, weights: Weights) -> tuple[ShapeFaults, ShapeFields]:
        """What `measure` and `fields` say, for the price of one look."""
        look = self._look(weights)
        return self._faults(look, weights), self._fields(look)

    def _faults(self, look: Look, weights: Weights) -> ShapeFaults:
        broken = Broken(
            folded_faces=len(look.folded),
            crossing_pairs=len(look.crossing),
            seam_opening=float(look.gaps.max(initial=0.0)),
            hard_bend=float(look.bends.max(initial=0.0)),
            layer_swaps=len(look.swaps),
        )
        found = ShapeFaults(
            weights=np.array(weights, dtype=np.float64),
            show_through=look.through.result,
            pucker=measure_pucker(self._windows, look.windows),
            stretch=measure_stretch(self._triangles, look.stretches, look.relative),
            clearance_change=measure_clearance_change(look.clearance_change, self._where.areas, self._region_masks),
            girth_ease=girth_ease(self._tapes, look.body, look.cloth),
            broken=broken,
            places=(),
            severities={},
        )
        severities = {fault: self.bands.grade(fault, value) for fault, value in graded_values(found).items()}
        return replace(found, places=all_places(self._where, look, self.bands, severities), severities=severities)

    def _fields(self, look: Look) -> ShapeFields:
        hidden = np.zeros(len(look.body), dtype=bool)
        hidden[self._through.hidden.vertices] = True
        return ShapeFields(look.body, look.cloth, hidden, {layer.name: layer.field(look) for layer in FAULT_LAYERS})

    def _look(self, weights: Weights) -> Look:
        if len(weights) != len(self.body.morph_names) or not np.all(np.isfinite(weights)):
            raise ArgumentError.of(
                "FaultCheck.measure",
                "weights",
                f"{len(self.body.morph_names)} finite weights",
                np.array2string(weights, threshold=8),
                "Give one weight per morph of the body",
            )
        body, cloth = self.body.at(weights), self.fit.at(weights)
        body_tree, cloth_tree = self._body_tree.refit(body), self._cloth_tree.refit(cloth)
        through = look_for_show_through(self._through, cloth_tree, body_tree)
        metric = metrics(self._triangles, cloth)
        on_skin = skin_metrics(self._skin_stretch, self._triangles, body)
        relative = principal_stretches(metric, against=on_skin)
        windows = pucker_index(self._windows, cloth)
        folds = folded(cloth, self.fit.garment.faces) & ~self._own_folds
        crossing = tree_self_crossings(cloth_tree)
        fresh = ~np.isin(crossing @ self._pair_key, self._own_crossings)
        worn = [each.at(weights) for each in self.under]
        swaps = [swapped(order, cloth, worn) for order in self._orders]
        return Look(
            body=body,
            cloth=cloth,
            body_faces=self.body.faces,
            cloth_faces=self.fit.garment.faces,
            seams=self._seams,
            through=through,
            windows=windows,
            pucker=windows[self._windows.owner],
            stretches=principal_stretches(metric),
            relative=relative,
            stretch=mean_at_vertices(self._triangles, log_stretch(relative), len(cloth)),
            clearance_change=through.sides.signed - self._through.sides.signed,
            folded=np.flatnonzero(folds),
            crossing=crossing[fresh],
            gaps=np.maximum(seam_gaps(self._seams, cloth) - self._own_gaps, 0.0),
            bends=hard_bends(self._pieces, self.fit.garment.vertices, cloth),
            swaps=np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *swaps])),
        )
