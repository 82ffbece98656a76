"""The check: every fault of a garment on any shape, with all that no shape changes prepared once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import BodyPoints, ClothPoints, Weights
from dressform.body.body import Body
from dressform.errors import ArgumentError, MatchError
from dressform.faults.broken import folded, hard_bends, seam_gaps
from dressform.faults.crumple import WINDOW_RADIUS, crumple_index, crumple_windows, measure_crumple
from dressform.faults.ease import girth_ease, make_tapes, measure_ease
from dressform.faults.layers import find_orders, swapped
from dressform.faults.places import find_places, make_surface, negated, region_names, spread
from dressform.faults.results import FAULTS, SEVERITIES, Broken, Place, ShapeFaults, ShapeFields
from dressform.faults.severity import Bands, graded_values
from dressform.faults.show_through import (
    ShowThroughLook,
    base_normals,
    look_for_show_through,
    prepare_show_through,
)
from dressform.faults.stretch import (
    base_triangles,
    log_stretch,
    measure_stretch,
    metrics,
    principal_stretches,
    skin_metrics,
    skin_stretch,
)
from dressform.fit.fit import Fit
from dressform.garment.parts import find_pieces, seam_pairs
from dressform.mesh.geometry import vertex_areas, vertex_normals
from dressform.mesh.intersect import tree_self_crossings
from dressform.mesh.tree import Tree

DEFAULT_BANDS = Bands()


@dataclass(frozen=True)
class _Look:
    """Everything that is seen on one shape, before it is summed up."""

    body: BodyPoints
    cloth: ClothPoints
    through: ShowThroughLook
    crumple: Float[np.ndarray, " S"]
    stretches: Float[np.ndarray, "F 2"]
    relative: Float[np.ndarray, "F 2"]
    drift: Float[np.ndarray, " G"]
    folded: Int[np.ndarray, " N"]
    crossing: Int[np.ndarray, "P 2"]
    gaps: Float[np.ndarray, " M"]
    bends: Float[np.ndarray, " G"]
    swaps: Int[np.ndarray, " L"]


class FaultCheck:
    """All faults of one garment on any shape of one body.

    Everything is measured against the garment as its maker modelled it, on the base shape: what is wrong there
    already is the garment's own and is not counted again on other shapes.

    Args:
        body: The body.
        fit: The garment that follows it.
        bands: From which value on a fault is slight, plain, grave.
        radius: Radius of the windows in which crumple is judged, metres.
        levels: Heights on the base shape at which a tape is laid, by name, metres; by default those that the trunk
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
        self._areas = vertex_areas(garment.vertices, garment.faces)
        self._windows = crumple_windows(garment.vertices, garment.faces, radius=radius)
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
        self._name_places(outward)

    def measure(self, weights: Weights) -> ShapeFaults:
        """Every fault of the shape at `weights`, how bad each is, and where.

        Raises:
            ArgumentError: there is not one finite weight per morph.
        """
        look = self._look(weights)
        crumple = measure_crumple(self._windows, look.crumple)
        stretch = measure_stretch(self._triangles, look.stretches, look.relative)
        girths = girth_ease(self._tapes, look.body, look.cloth)
        ease = measure_ease(look.drift, self._areas, self._region_masks, girths)
        broken = Broken(
            folded_faces=len(look.folded),
            crossing_pairs=len(look.crossing),
            seam_opening=float(look.gaps.max(initial=0.0)),
            hard_bend=float(look.bends.max(initial=0.0)),
            layer_swaps=len(look.swaps),
        )
        values = graded_values(look.through.result, crumple, stretch, ease, broken)
        severities = {fault: self.bands.grade(fault, values[fault]) for fault in FAULTS}
        return ShapeFaults(
            weights=np.array(weights, dtype=np.float64),
            show_through=look.through.result,
            crumple=crumple,
            stretch=stretch,
            ease=ease,
            broken=broken,
            places=tuple(place for place in self._places(look) if severities[place.fault] != SEVERITIES[0]),
            severities=severities,
        )

    def fields(self, weights: Weights) -> ShapeFields:
        """The same faults as fields over body and cloth, for pictures."""
        look = self._look(weights)
        body_areas = vertex_areas(look.body, self.body.faces)
        through = look.through
        hidden = np.zeros(len(look.body), dtype=bool)
        hidden[self._through.hidden.vertices] = True
        exposed = np.divide(through.exposed.areas, body_areas, out=np.zeros(len(look.body)), where=body_areas > 0)
        return ShapeFields(
            body=look.body,
            cloth=look.cloth,
            hidden=hidden,
            exposed=np.minimum(exposed, 1.0),
            depth=self._depths(look),
            crumple=look.crumple[self._windows.owner],
            stretch=self._at_vertices(log_stretch(look.relative)),
            drift=look.drift,
        )

    def _look(self, weights: Weights) -> _Look:
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
        folds = folded(cloth, self.fit.garment.faces) & ~self._own_folds
        crossing = tree_self_crossings(cloth_tree)
        fresh = ~np.isin(crossing @ self._pair_key, self._own_crossings)
        worn = [each.at(weights) for each in self.under]
        swaps = [swapped(order, cloth, worn) for order in self._orders]
        return _Look(
            body=body,
            cloth=cloth,
            through=through,
            crumple=crumple_index(self._windows, cloth),
            stretches=principal_stretches(metric),
            relative=principal_stretches(metric, against=on_skin),
            drift=through.sides.signed - self._through.sides.signed,
            folded=np.flatnonzero(folds),
            crossing=crossing[fresh],
            gaps=np.maximum(seam_gaps(self._seams, cloth) - self._own_gaps, 0.0),
            bends=hard_bends(self._pieces, self.fit.garment.vertices, cloth),
            swaps=np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *swaps])),
        )

    def _name_places(self, outward: Float[np.ndarray, "G 3"]) -> None:
        """Prepare the words for where a fault is, on cloth and on skin."""
        body, garment = self.body, self.fit.garment
        regions = region_names(body.vertices, body.regions)
        feet = self._through.sides
        foot_vertices = body.faces[feet.nearest, np.argmax(feet.barycentric, axis=1)]
        names = np.array(garment.part_names)
        self._region_masks = {name: mask[foot_vertices] for name, mask in body.regions.items()}
        self._on_cloth = make_surface(
            garment.faces, regions[foot_vertices], names[garment.vertex_parts()], garment.vertices, outward
        )
        hidden = self._through.hidden
        covers = np.take_along_axis(hidden.covers, np.argmax(hidden.covers >= 0, axis=1)[:, None], axis=1)[:, 0]
        skin_parts = np.zeros(len(body.vertices), dtype=np.int64)
        skin_parts[hidden.vertices] = garment.face_parts[covers]
        normals = vertex_normals(body.vertices, body.faces)
        self._on_skin = make_surface(body.faces, regions, names[skin_parts], body.vertices, normals)

    def _places(self, look: _Look) -> tuple[Place, ...]:
        """Spots of every fault that has them; a share of area has none of its own."""
        floor = float(look.body[:, 1].min())
        faces, count = self.fit.garment.faces, len(look.cloth)

        def on_cloth(fault: str, values: Float[np.ndarray, " G"], *, summed: bool = False) -> tuple[Place, ...]:
            return find_places(
                self._on_cloth,
                fault,
                values,
                bands=self.bands,
                points=look.cloth,
                areas=self._areas,
                floor=floor,
                summed=summed,
            )

        exposed = look.through.exposed.areas
        gaps = np.zeros(count)
        np.maximum.at(gaps, self._seams, look.gaps[:, None])
        crossing = np.concatenate([faces[look.crossing[:, 0]], faces[look.crossing[:, 1]]], axis=1)
        found = [
            find_places(
                self._on_skin,
                "exposed",
                exposed,
                bands=self.bands,
                points=look.body,
                areas=exposed,
                floor=floor,
                summed=True,
            ),
            on_cloth("depth", self._depths(look)),
            on_cloth("crumple", look.crumple[self._windows.owner]),
            on_cloth("stretch", self._at_vertices(log_stretch(look.relative))),
            on_cloth("ease", look.drift),
            negated(on_cloth("ease", -look.drift)),
            on_cloth("folded", spread(faces[look.folded], count), summed=True),
            on_cloth("crossing", spread(crossing, count), summed=True),
            on_cloth("seam", gaps),
            on_cloth("hard", look.bends),
            on_cloth("layers", spread(look.swaps[:, None], count), summed=True),
        ]
        return tuple(sorted((place for places in found for place in places), key=_rank))

    def _depths(self, look: _Look) -> Float[np.ndarray, " G"]:
        """Deepest sample nearest to each cloth vertex, metres, (G,)."""
        depths = np.zeros(len(look.cloth))
        np.maximum.at(depths, look.through.samples.vertices, look.through.samples.depths)
        return depths

    def _at_vertices(self, values: Float[np.ndarray, " F"]) -> Float[np.ndarray, " G"]:
        """Mean by area over the triangles around each vertex, (G,)."""
        faces = self.fit.garment.faces
        weights = np.repeat(self._triangles.areas, 3)
        totals = np.bincount(faces.ravel(), weights=weights, minlength=len(self._areas))
        sums = np.bincount(faces.ravel(), weights=weights * np.repeat(values, 3), minlength=len(self._areas))
        return np.divide(sums, totals, out=np.zeros(len(totals)), where=totals > 0)


def _rank(place: Place) -> tuple[int, int]:
    """Gravest first; among equals in the order of `FAULTS`."""
    return (-SEVERITIES.index(place.severity), FAULTS.index(place.fault))
