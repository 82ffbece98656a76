"""Pictures of one garment: at the base, and on its worst shape with the faults as colour."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.faults.fault import DIVERGING, Fault, FaultLayer
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.in_front import IN_FRONT
from dressform.faults.graded.pierced import PIERCED
from dressform.faults.registry import ALL_FAULTS, FAULTS, cloth_layer, is_on_body
from dressform.faults.results import SEVERITIES, Place, ShapeFaults, ShapeFields
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.words import FAULT_WORDS, place_amount
from dressform.fit.fit import Fit
from dressform.mesh.geometry import vertex_normals
from dressform.report.pictures.camera import Camera, close_up, framed_alike
from dressform.report.pictures.colours import CHANGE_STOPS, CLOTH_STOPS, FRONT_STOPS, SKIN_STOPS, Scale
from dressform.report.pictures.picture import below, beside, legend, lettered, ringed
from dressform.report.pictures.raster import CLOTH, SKIN, Drawable, Image, draw
from dressform.report.tables.check import where
from dressform.units import CM_PER_M, PERCENT

VIEWS = ("front", "side", "back")
PANEL = (460, 690)
PLACES_RINGED = 4
CLOSE_UP_RADIUS = 0.11
FACES_OUT = 0.5  # least cosine between cloth and skin of a place that is looked at straight from its cloth
SEEN_OVER_SKIN = 0.002  # how far the skin is drawn back, beyond the greatest depth, where cloth lies under it


DRAWN_OVER = " (drawn over it)"  # of cloth that is under the skin
SKIN_SCALES = {IN_FRONT.key: Scale(0.0, PERCENT, FRONT_STOPS), EXPOSED.key: Scale(0.0, PERCENT, SKIN_STOPS)}
"""How the skin is coloured by each fault that lies on it, by the name of the fault and of its layer."""


@dataclass(frozen=True)
class Lit:
    """Body and cloth with one fault as colour.

    Attributes:
        meshes: To be drawn.
        scale: From values to the colours of the cloth.
        words: What the colours of the cloth mean.
        unit: Unit of the scale; empty for a pure number.
    """

    meshes: list[Drawable]
    scale: Scale
    words: str
    unit: str


@dataclass(frozen=True)
class Appearance:
    """How a garment looks without fault colours: one colour and gloss per cloth vertex."""

    colours: Float[np.ndarray, "G 3"]
    gloss: Float[np.ndarray, " G"]


def worn_picture(body: Body, fit: Fit, look: Appearance, weights: Weights, view: str, size: tuple[int, int]) -> Image:
    """Body and garment on any shape, in their own colours."""
    cloth = Drawable(fit.at(weights), fit.garment.faces, look.colours, look.gloss)
    return draw([Drawable(body.at(weights), body.faces, SKIN), cloth], view, size)


def base_picture(body: Body, fit: Fit, look: Appearance, fields: ShapeFields) -> Image:
    """Body and garment at the base from the front, the side and the back; skin in front is coloured."""
    cloth = Drawable(fit.base, fit.garment.faces, look.colours, look.gloss)
    meshes = [Drawable(body.vertices, body.faces, skin_colours(fields)), cloth]
    cameras = framed_alike(np.concatenate([body.vertices, fit.base]), VIEWS, aspect=PANEL[0] / PANEL[1])
    row = beside([draw(meshes, camera, PANEL) for camera in cameras])
    row = below([row, *skin_legends(fields, width=row.shape[1])])
    return lettered(row, f"{fit.garment.name} on {body.name}, base body")


def worst_picture(
    body: Body,
    fit: Fit,
    title: str,
    faults: ShapeFaults,
    fields: ShapeFields,
    places: Mapping[str, Place],
    *,
    under: Sequence[Fit] = (),
) -> Image:
    """The garment on one shape with its gravest fault as colour: front, back, and its first place from near.

    Args:
        body: The body.
        fit: The garment.
        title: Stands above.
        faults: What was measured on the shape.
        fields: The same as fields.
        places: What is ringed, by the number that results, page and report give it.
        under: What is worn under it; drawn where that is what its gravest fault is about.
    """
    fault = gravest_fault(faults)
    lit = light(body, fit, fields, fault)
    if fault == PIERCED.key:
        lit.meshes.extend(Drawable(one.at(faults.weights), one.garment.faces, CLOTH) for one in under)
    everything = np.concatenate([fields.body, fields.cloth])
    ringed_places = list(places.values())
    cameras = framed_alike(everything, ("front", "back"), aspect=PANEL[0] / PANEL[1])
    panels = [
        ringed(draw(lit.meshes, camera, PANEL), named_rings(places, camera, PANEL, body, fit, fields))
        for camera in cameras
    ]
    if ringed_places:
        camera = look_at(ringed_places[0], body, fit, fields)
        panels.append(draw(lit.meshes, camera, PANEL, ground_shadow=False))
    row = beside(panels)
    legends = [legend(lit.scale, lit.words, lit.unit, width=row.shape[1]), *skin_legends(fields, width=row.shape[1])]
    return lettered(below([row, *legends]), title, _captions(places))


def light(
    body: Body,
    fit: Fit,
    fields: ShapeFields,
    fault: str,
    *,
    look: Appearance | None = None,
    bands: Bands = DEFAULT_BANDS,
) -> Lit:
    """One shape with the cloth coloured by `fault`, where that is a field, else by the change of its clearance.

    With a look, skin that shows is coloured on the skin only, and the cloth keeps its colours. A layer has one colour
    scale, so pictures can be compared.
    """
    if is_on_body(fault) and look is not None:
        skin = Drawable(fields.body, body.faces, skin_colours(fields))
        cloth = Drawable(fields.cloth, fit.garment.faces, look.colours, look.gloss)
        return Lit([skin, cloth], SKIN_SCALES[fault], FAULT_WORDS[fault], "%")
    shown = cloth_layer(fault)
    values = shown.factor * fields.layers[shown.name]
    scale = layer_scale(shown, bands)
    words = shown.label + (DRAWN_OVER if shown is DEPTH.layer else "")
    return Lit(_meshes(body, fit, fields, shown, scale.colours(values)), scale, words, shown.unit)


def gravest_fault(faults: ShapeFaults) -> str:
    """The fault of the worst severity; of several the first of `FAULTS`; where nothing is wrong, skin that shows."""
    worst = max(FAULTS, key=lambda fault: SEVERITIES.index(faults.severities.get(fault, SEVERITIES[0])))
    return EXPOSED.key if faults.severities.get(worst, SEVERITIES[0]) == SEVERITIES[0] else worst


def layer_ends(fault: Fault, layer: FaultLayer, bands: Bands) -> tuple[float, float]:
    """Where the colours of a layer begin and end, in its unit: the same in every picture and on the page.

    They end where the fault is grave; what is worse has the last colour.
    """
    top = bands[fault.key][-1] * layer.factor if layer.top is None else layer.top
    return (-top if layer.kind == DIVERGING else 0.0), top


def layer_scale(layer: FaultLayer, bands: Bands = DEFAULT_BANDS) -> Scale:
    """The colours of a layer on the cloth; see `layer_ends`."""
    fault = next(one for one in reversed(ALL_FAULTS) if one.layer is layer and one.field is not None)
    return Scale(*layer_ends(fault, layer, bands), CHANGE_STOPS if layer.kind == DIVERGING else CLOTH_STOPS)


def _meshes(
    body: Body, fit: Fit, fields: ShapeFields, shown: FaultLayer, cloth_colours: Float[np.ndarray, "G 3"]
) -> list[Drawable]:
    vertices = fields.body
    if shown is DEPTH.layer:
        back = float(fields.layers[shown.name].max()) + SEEN_OVER_SKIN
        vertices = vertices - back * fields.hidden[:, None] * vertex_normals(vertices, body.faces)
    return [
        Drawable(vertices, body.faces, skin_colours(fields)),
        Drawable(fields.cloth, fit.garment.faces, cloth_colours),
    ]


def skin_colours(fields: ShapeFields) -> Float[np.ndarray, "B 3"]:
    """Colours of the skin, highlighted where it is in front at the base and where it shows, (B, 3)."""
    colours = np.tile(np.array(SKIN), (len(fields.body), 1))
    for fault, scale in SKIN_SCALES.items():
        share = fields.layers[fault]
        colours = np.where(share[:, None] > 0, scale.colours(share * PERCENT), colours)
    return colours


def skin_legends(*fields: ShapeFields, width: int) -> list[Image]:
    """What the colours of the skin mean, as far as any of the shapes has them."""
    return [
        legend(scale, FAULT_WORDS[fault], "%", width=width)
        for fault, scale in SKIN_SCALES.items()
        if any(one.layers[fault].any() for one in fields)
    ]


def _normal_at(place: Place, body: Body, fit: Fit, fields: ShapeFields) -> Float[np.ndarray, "3"]:
    """From where a place is seen: its surface's normal, or the skin's where cloth faces another way.

    The back of a button faces the body and its rim faces along it; nobody looks at it from there.
    """
    skin = vertex_normals(fields.body, body.faces)
    if is_on_body(place.fault):
        return skin[place.vertex]
    normal = vertex_normals(fields.cloth, fit.garment.faces)[place.vertex]
    nearest = np.argmin(np.linalg.norm(fields.body - fields.cloth[place.vertex], axis=1))
    return normal if normal @ skin[nearest] > FACES_OUT else skin[nearest]


def place_rings(
    places: Sequence[Place], camera: Camera, size: tuple[int, int], body: Body, fit: Fit, fields: ShapeFields
) -> list[tuple[int, Float[np.ndarray, "2"]]]:
    """Numbers, from 1, and pixels of the places that face the camera, in a picture of `size`."""
    rings = []
    for number, place in enumerate(places, start=1):
        position = np.array(place.position_m)
        if float(_normal_at(place, body, fit, fields) @ (camera.eye - position)) > 0:
            rings.append((number, camera.project(position[None], width=size[0], height=size[1])[0, :2]))
    return rings


def named_rings(
    places: Mapping[str, Place], camera: Camera, size: tuple[int, int], body: Body, fit: Fit, fields: ShapeFields
) -> list[tuple[str, Float[np.ndarray, "2"]]]:
    """Names and pixels of the places that face the camera."""
    names = list(places)
    rings = place_rings(list(places.values()), camera, size, body, fit, fields)
    return [(names[number - 1], pixel) for number, pixel in rings]


def look_at(place: Place, body: Body, fit: Fit, fields: ShapeFields, *, radius: float = CLOSE_UP_RADIUS) -> Camera:
    """A close-up of a place on the shape of `fields`, `radius` metres round it, from where its surface faces."""
    return close_up(np.array(place.position_m), radius, normal=_normal_at(place, body, fit, fields))


def _captions(places: Mapping[str, Place]) -> list[str]:
    """One line per ring."""
    lines = []
    for number, place in places.items():
        spot = f"{where(place)}, {place.height * CM_PER_M:.0f} cm above the ground, {place.area_cm2:.1f} cm²"
        amount = place_amount(place)
        lines.append(f"{number}: {FAULT_WORDS[place.fault]} ({place.severity}), {amount}; {spot}")
    return lines
