"""The report's content for one garment: its packs, pictures and charts."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import UInt8

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shapes import shape_at_base
from dressform.causes.results import Explanation
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.pierced import PIERCED
from dressform.faults.results import ShapeFields
from dressform.faults.rim_step import RigidPatches
from dressform.faults.wardrobe import Wardrobe
from dressform.fit.fit import Fit
from dressform.formats.results.check_report import GarmentReport, ShapeRow
from dressform.formats.results.page.about import LayerAbout
from dressform.formats.results.page.charts import GarmentCharts
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from dressform.proof.certificate import Certificate
from dressform.report.html.packs import cloth_pack, inlined, layers_pack
from dressform.report.html.pictures import (
    Key,
    base_views,
    cluster_view,
    layers_view,
    plain_look,
    posed_cluster_view,
    view_size,
    worst_view,
)
from dressform.report.page.charts import Clearances, Spread, garment_charts, missing_slider_shapes
from dressform.report.page.clusters import places_on
from dressform.report.page.layers import SurfaceLayers
from dressform.report.page.pictures import REPORT_PIXELS, pictures_of
from dressform.report.page.shapes import PageShape, shape_index, weights_key
from dressform.report.pictures.faults import VIEWS, Appearance
from dressform.report.pictures.raster import Image
from dressform.units import MM_PER_M

WORST, LAYERS_BELOW = "worst", "layers-below"
SHOWN = 8
"""So many clusters of a garment are pictured and have their layers stored; the others are listed."""
RINGED = 4
"""So many of its clusters are ringed in a garment's worst picture."""
SLUG_LENGTH = 32


@dataclass(frozen=True)
class ReportGarment:
    """A garment as the report shows it.

    Attributes:
        fit: The garment that was checked.
        look: Its own colours; one quiet colour where None.
        repaired: The same garment repaired, to be set beside it; None where nothing was repaired.
        certificate: What is proven of the fit; None where no proof was requested.
        slider_points: At how many weights along each slider faults are charted.
        under: What is worn under it, with how that looks.
    """

    fit: Fit
    look: Appearance | None = None
    repaired: Fit | None = None
    certificate: Certificate | None = None
    slider_points: int = 5
    under: tuple[tuple[Fit, Appearance | None], ...] = ()


@dataclass(frozen=True)
class GarmentSection:
    """The report's content for one garment.

    Attributes:
        packs: Kind and text of each script with data.
        near: Name of the gravest cluster; empty where there is none.
        views: File name of each picture: worst, layers where something comes through, front, side, back.
        size: Their width and height, pixels.
        clusters: File name of the close-up of each cluster, by the cluster's name.
        keys: What the colours of a picture mean, by its file name.
        pictures: The pictures, by file name.
        charts: Its charts.
        colours: One "#rrggbb" per part.
        layers: Names of the layers that are stored.
    """

    packs: tuple[tuple[str, str], ...]
    near: str
    views: Mapping[str, str]
    size: tuple[int, int]
    clusters: Mapping[str, str]
    keys: Mapping[str, tuple[Key, ...]]
    pictures: Mapping[str, Image]
    charts: GarmentCharts
    colours: tuple[str, ...]
    layers: tuple[str, ...]


@dataclass(frozen=True)
class Bench:
    """Data that is the same for every garment of a report.

    Attributes:
        body: The body.
        shapes: Every shape of the report.
        rigid_patches: The rigid patches of each morph.
        layers: Every layer.
        wardrobe: The garments, as far as they are prepared.
    """

    body: Body
    shapes: Sequence[PageShape]
    rigid_patches: tuple[RigidPatches, ...]
    layers: Sequence[LayerAbout]
    wardrobe: Wardrobe[GarmentOnBody]


def make_part(
    bench: Bench, number: int, garment: GarmentReport, worn: ReportGarment, causes: Sequence[Explanation]
) -> GarmentSection:
    """Make the report's content for its `number`th garment.

    Args:
        bench: What all garments share.
        number: Place in the report, for the names of the pictures.
        garment: What was found.
        worn: What is drawn.
        causes: Its clusters, the gravest first.
    """
    causes = causes[:SHOWN]
    body, fit = bench.body, worn.fit
    look = plain_look(fit) if worn.look is None else worn.look
    check = bench.wardrobe.worn(fit, under=[one for one, _ in worn.under])
    surface = SurfaceLayers(check, rigid_patches=bench.rigid_patches, certificate=worn.certificate)
    worst = garment.worst_first()[0]
    through = most_through(garment)
    stored = _stored_shapes(body.range, worst, causes, through)
    fields = {weights_key(weights): check.fields(weights) for weights in stored}
    packs, names = _data(bench, garment.key, worn, look, surface, fields, stored)
    gallery = _gallery(body, fit, look, worst, causes, fields, check)
    if through is not None:
        under = [(one, plain_look(one) if colours is None else colours) for one, colours in worn.under]
        there = fields[weights_key(through.faults.weights)]
        gallery.images[LAYERS_BELOW], gallery.keys[LAYERS_BELOW] = layers_view(
            body, fit, through.faults, there, under, bands=check.bands
        )
    stem = f"{number:02d}-{slug(garment.name)}"
    files = {name: f"{stem}-{name}.png" for name in gallery.images}
    return GarmentSection(
        packs=packs,
        near=causes[0].cluster.name if causes else "",
        views={name: files[name] for name in (WORST, LAYERS_BELOW, *VIEWS) if name in files},
        size=view_size(fit),
        clusters={cluster: files[name] for cluster, name in gallery.close.items()},
        keys={files[name]: key for name, key in gallery.keys.items()},
        pictures={files[name]: image for name, image in gallery.images.items()},
        charts=_charts(bench, garment, worn, check, worst),
        colours=_part_colours(fit, look),
        layers=names,
    )


@dataclass(frozen=True)
class _Gallery:
    """Pictures of a garment by name, their colours, and the name of the picture of each cluster."""

    images: dict[str, Image]
    keys: dict[str, tuple[Key, ...]]
    close: dict[str, str]


def most_through(garment: GarmentReport) -> ShapeRow | None:
    """The shape on which most of what is worn under it comes through; None where nothing does."""
    most = max(garment.rows, key=lambda row: PIERCED.value(row.faults))
    return most if PIERCED.value(most.faults) > 0.0 else None


def _gallery(
    body: Body,
    fit: Fit,
    look: Appearance,
    worst: ShapeRow,
    causes: Sequence[Explanation],
    fields: Mapping[bytes, ShapeFields],
    check: GarmentOnBody,
) -> _Gallery:
    """The garment from all sides, on its worst shape, and a close-up of every cluster."""
    at_base = fields[weights_key(shape_at_base(body.range).weights)]
    images, keys, close = dict(base_views(body, fit, look, at_base)), {}, {}
    at_worst = fields[weights_key(worst.faults.weights)]
    places = places_on(worst.faults.weights, causes, most=RINGED)
    images[WORST], keys[WORST] = worst_view(body, fit, look, worst.faults, at_worst, places, bands=check.bands)
    for one in causes:
        name = close[one.cluster.name] = f"place-{slug(one.cluster.name)}"
        if one.cluster.worst.stance is not None:
            images[name], keys[name] = posed_cluster_view(check, look, one)
            continue
        there = fields[weights_key(one.cluster.worst.weights)]
        images[name], keys[name] = cluster_view(body, fit, look, one, there, bands=check.bands)
    return _Gallery(images, keys, close)


def _at_rest(causes: Sequence[Explanation]) -> list[Weights]:
    """The worst shapes of the clusters that are worst at rest."""
    return [one.cluster.worst.weights for one in causes if one.cluster.worst.stance is None]


def _stored_shapes(
    box: Range, worst: ShapeRow, causes: Sequence[Explanation], through: ShapeRow | None
) -> list[Weights]:
    """Shapes whose layers are kept, each once."""
    wanted = [shape_at_base(box).weights, worst.faults.weights, *_at_rest(causes)]
    wanted += [] if through is None else [through.faults.weights]
    return list({weights_key(weights): weights for weights in wanted}.values())


def _data(
    bench: Bench,
    key: str,
    worn: ReportGarment,
    look: Appearance,
    surface: SurfaceLayers,
    fields: Mapping[bytes, ShapeFields],
    stored: Sequence[Weights],
) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """The garment's packs as text, and the names of the layers in them."""
    colours: UInt8[np.ndarray, "G 3"] = np.round(255 * look.colours).astype(np.uint8)
    garment = worn.fit.garment
    dressed = pictures_of(garment.source, garment.faces, most=REPORT_PIXELS)
    packs = [("cloth", inlined(cloth_pack(bench.body, worn.fit, key, colours, dressed)))]
    shown = [
        layer for layer in bench.layers if layer.name != "rigid_patch" or any(one.found for one in bench.rigid_patches)
    ]
    constant = surface.constant
    packs.append(("layers", inlined(layers_pack(key, None, constant, shown))))
    names = set(constant)
    for weights in stored:
        values = surface.of_fields(fields[weights_key(weights)], weights)
        shape = shape_index(bench.shapes, weights)
        if shape is not None:
            packs.append(("layers", inlined(layers_pack(key, shape, values, shown))))
            names |= set(values)
    return tuple(packs), tuple(layer.name for layer in shown if layer.name in names)


def _charts(
    bench: Bench, garment: GarmentReport, worn: ReportGarment, check: GarmentOnBody, worst: ShapeRow
) -> GarmentCharts:
    """The charts of one garment, with the shapes along each slider that nobody has measured yet."""
    box, rows = bench.body.range, [row.faults for row in garment.rows]
    missing = missing_slider_shapes(box, [one.weights for one in rows], points=worn.slider_points)
    rows += [check.measure(shape.weights) for shape in missing]
    start, weights, repaired = shape_at_base(box).weights, worst.faults.weights, worn.repaired
    base, skin = (Tree(bench.body.at(at), bench.body.faces) for at in (start, weights))
    clearances = Clearances(
        base=_spread(base, worn.fit, start),
        worst=_spread(skin, worn.fit, weights),
        repaired=None if repaired is None else _spread(skin, repaired, weights),
    )
    return garment_charts(box, rows, worst=worst.faults, clearances=clearances)


def _spread(skin: Tree, fit: Fit, weights: Weights) -> Spread:
    clearance = signed_clearance(skin, fit.at(weights))[0] * MM_PER_M
    return Spread(clearance, vertex_areas(fit.garment.vertices, fit.garment.faces))


def _part_colours(fit: Fit, look: Appearance) -> tuple[str, ...]:
    """Mean colour of each part, "#rrggbb"."""
    parts = fit.garment.vertex_parts()
    means = [
        look.colours[parts == part].mean(axis=0) if (parts == part).any() else look.colours.mean(axis=0)
        for part in range(len(fit.garment.part_names))
    ]
    return tuple("#" + "".join(f"{round(255 * float(channel)):02x}" for channel in mean) for mean in means)


def slug(name: str) -> str:
    """A name that is safe in any file system and page."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:SLUG_LENGTH] or "x"
