"""Pictures of the report: every garment from all sides and on its worst shape, a close-up of every cluster."""

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image as PillowImage

from dressform.arrays import ClothPoints
from dressform.body.body import Body
from dressform.causes.results import Explanation
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.pierced import PIERCED
from dressform.faults.results import Place, ShapeFaults, ShapeFields
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.words import FAULT_WORDS
from dressform.fit.fit import Fit
from dressform.fit.posed import posed_body, posed_fit
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree
from dressform.report.pictures.camera import Camera, framed_alike
from dressform.report.pictures.colours import Scale
from dressform.report.pictures.faults import (
    SKIN_SCALES,
    VIEWS,
    Appearance,
    Lit,
    gravest_fault,
    light,
    look_at,
    place_rings,
    skin_colours,
)
from dressform.report.pictures.picture import ringed
from dressform.report.pictures.raster import CLOTH, Drawable, Image, draw

VIEW_WIDTH = 400
VIEW_ASPECTS = (0.62, 1.0)
"""Narrowest and widest view of a garment, width over height."""
CLUSTER_SIZE = (360, 360)
NAME_SIZE = 25
"""Height of the names beside rings, pixels: a page shows these pictures at half their size."""
NEAREST_LOOK = 0.15
"""Least radius of a close-up, metres."""
ROOM_ROUND = 2.5
"""Radius of a close-up over that of a disc of the place's area."""
WIDEST_LOOK = 0.30
TURNS = (0.0, 30.0, -30.0, 60.0, -60.0, 90.0, -90.0, 120.0, -120.0)
"""Degrees round the vertical by which a close-up may be turned so that an arm does not stand before it."""
OFF_SURFACE = 0.004
"""Nearer than this, what a ray meets is the place itself, metres."""
ROOM_BESIDE = 0.06
"""How much of the body a picture shows on every side of the garment, metres."""
WEBP_QUALITY = 80
OR_MORE = "≥ "
"""The last colour is also that of what is worse."""


@dataclass(frozen=True)
class Key:
    """What the colours of a picture mean.

    Attributes:
        words: What is shown.
        low: Value of the first colour, as text.
        high: Value of the last, with its unit; where it stands for all that is worse too, with a sign for that.
        colours: "#rrggbb", from low to high.
    """

    words: str
    low: str
    high: str
    colours: tuple[str, ...]


def plain_look(fit: Fit) -> Appearance:
    """One quiet colour, for a garment whose own colours are unknown."""
    count = len(fit.garment.vertices)
    return Appearance(np.tile(CLOTH, (count, 1)), np.zeros(count))


def base_views(body: Body, fit: Fit, look: Appearance, fields: ShapeFields) -> dict[str, Image]:
    """Body and garment at the base, from the front, the side and the back, at one scale; skin in front is coloured."""
    meshes = [
        Drawable(body.vertices, body.faces, skin_colours(fields)),
        Drawable(fit.base, fit.garment.faces, look.colours, look.gloss),
    ]
    size = view_size(fit)
    return {view: draw(meshes, camera, size) for view, camera in zip(VIEWS, _round_the(fit.base, VIEWS, size))}


def view_size(fit: Fit) -> tuple[int, int]:
    """Width and height of the pictures of a garment, pixels, chosen for its front view at the base."""
    across, up, _ = np.ptp(fit.base, axis=0) + 2 * ROOM_BESIDE
    return VIEW_WIDTH, round(VIEW_WIDTH / float(np.clip(across / up, *VIEW_ASPECTS)))


def worst_view(
    body: Body,
    fit: Fit,
    look: Appearance,
    faults: ShapeFaults,
    fields: ShapeFields,
    places: Mapping[str, Place],
    *,
    bands: Bands = DEFAULT_BANDS,
) -> tuple[Image, tuple[Key, ...]]:
    """The garment on its worst shape with its gravest fault lit, from the side that shows the first place.

    Args:
        body: The body.
        fit: The garment.
        look: Its own colours.
        faults: What was measured there.
        fields: The same as fields.
        places: What is ringed, by the name that is written there, the worst first.
        bands: Where faults are grave, which is where colours end.
    """
    lit = light(body, fit, fields, gravest_fault(faults), look=look, bands=bands)
    names, size = list(places), view_size(fit)
    sides = []
    for camera in _round_the(fields.cloth, ("front", "back"), size):
        seen = place_rings(list(places.values()), camera, size, body, fit, fields)
        sides.append((camera, seen))
    camera, seen = min(sides, key=lambda side: min((rank for rank, _ in side[1]), default=len(names) + 1))
    rings = [(names[rank - 1], pixel) for rank, pixel in seen]
    return ringed(draw(lit.meshes, camera, size), rings, text_size=NAME_SIZE), keys_of(lit, fields)


def layers_view(
    body: Body,
    fit: Fit,
    faults: ShapeFaults,
    fields: ShapeFields,
    under: Sequence[tuple[Fit, Appearance]],
    *,
    bands: Bands = DEFAULT_BANDS,
) -> tuple[Image, tuple[Key, ...]]:
    """The garment over what is worn under it, which comes through, from the side on which more of that is seen.

    Args:
        body: The body.
        fit: The garment; where something comes through it, it is coloured.
        faults: What was measured on the shape.
        fields: The same as fields.
        under: What is worn under it, with its own colours.
        bands: Where faults are grave, which is where colours end.
    """
    lit = light(body, fit, fields, PIERCED.key, bands=bands)
    below = [Drawable(one.at(faults.weights), one.garment.faces, look.colours, look.gloss) for one, look in under]
    places = [place for place in faults.places if place.fault == PIERCED.key]
    size = view_size(fit)

    def seen(camera: Camera) -> float:
        facing = {number for number, _ in place_rings(places, camera, size, body, fit, fields)}
        return sum(place.area for number, place in enumerate(places, start=1) if number in facing)

    camera = max(_round_the(fields.cloth, ("front", "back"), size), key=seen)
    return draw([*lit.meshes, *below], camera, size), keys_of(lit, fields)


def cluster_view(
    body: Body,
    fit: Fit,
    look: Appearance,
    explanation: Explanation,
    fields: ShapeFields,
    *,
    bands: Bands = DEFAULT_BANDS,
) -> tuple[Image, tuple[Key, ...]]:
    """A close-up of one cluster on its worst shape, its fault as colour."""
    place = explanation.cluster.worst.place
    lit = light(body, fit, fields, place.fault, look=look, bands=bands)
    camera = _free_view(place, body, fit, fields)
    return draw(lit.meshes, camera, CLUSTER_SIZE, ground_shadow=False), keys_of(lit, fields)


def posed_cluster_view(
    worn: GarmentOnBody, look: Appearance, explanation: Explanation
) -> tuple[Image, tuple[Key, ...]]:
    """A close-up of one cluster at the stance where it is worst."""
    worst, fit = explanation.cluster.worst, worn.fit
    assert worst.stance is not None
    body = posed_body(fit.body, worst.stance)
    fields = worn.fields(worst.weights, worst.stance)
    return cluster_view(body, posed_fit(fit, worst.stance, body=body), look, explanation, fields, bands=worn.bands)


def keys_of(lit: Lit, fields: ShapeFields) -> tuple[Key, ...]:
    """Every colour scale of a picture: that of the fault that is lit, and those of the skin as far as they occur."""
    skin = [
        _key(scale, FAULT_WORDS[fault], "%")
        for fault, scale in SKIN_SCALES.items()
        if scale is not lit.scale and fields.layers[fault].any()
    ]
    return (_key(lit.scale, lit.words, lit.unit), *skin)


def _key(scale: Scale, words: str, unit: str) -> Key:
    """One colour scale as words and colours."""
    colours = scale.colours(np.linspace(scale.low, scale.high, 7))
    return Key(
        words,
        f"{scale.low:.3g}",
        f"{'' if scale in SKIN_SCALES.values() else OR_MORE}{scale.high:.3g} {unit}".strip(),
        tuple("#" + "".join(f"{round(255 * float(channel)):02x}" for channel in colour) for colour in colours),
    )


def webp(image: Image) -> bytes:
    """A picture as it is inlined: a tenth of a PNG's bytes."""
    into = io.BytesIO()
    PillowImage.fromarray(image).save(into, format="WEBP", quality=WEBP_QUALITY, method=4)
    return into.getvalue()


def _round_the(cloth: ClothPoints, views: Sequence[str], size: tuple[int, int]) -> list[Camera]:
    """Cameras that frame a garment with some of the body beside it."""
    low, high = cloth.min(axis=0) - ROOM_BESIDE, cloth.max(axis=0) + ROOM_BESIDE
    box = np.stack(np.meshgrid(*zip(low, high)), axis=-1).reshape(-1, 3)
    return framed_alike(box, views, aspect=size[0] / size[1])


def _free_view(place: Place, body: Body, fit: Fit, fields: ShapeFields) -> Camera:
    """A close-up along the surface normal, turned round the vertical just enough for an unblocked view."""
    trees = Tree(fields.body, body.faces), Tree(fields.cloth, fit.garment.faces)
    straight = look_at(place, body, fit, fields, radius=_radius(place))
    best, farthest = straight, 0.0
    for degrees in TURNS:
        camera = straight.turned(degrees)
        way = (camera.eye - camera.target)[None] / camera.distance
        seen_from = camera.distance - camera.near  # what is nearer to the eye is not drawn
        hits = [first_hit(tree, camera.target[None], way, near=OFF_SURFACE, far=seen_from) for tree in trees]
        free = min(seen_from, *(float(hit.distances[0]) for hit in hits))
        if free == seen_from:
            return camera
        if free > farthest:
            best, farthest = camera, free
    return best


def _radius(place: Place) -> float:
    """How much of the surroundings a close-up shows, metres."""
    disc = float(np.sqrt(max(place.area, 0.0) / np.pi))
    return float(np.clip(ROOM_ROUND * disc, NEAREST_LOOK, WIDEST_LOOK))
