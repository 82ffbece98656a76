"""A counterfactual as a picture: the place as it is, and with one ingredient swapped, side by side at one scale."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dressform.body.body import Body
from dressform.faults.results import Place, ShapeFields
from dressform.fit.fit import Fit
from dressform.report.pictures.camera import Camera
from dressform.report.pictures.edge_lines import with_edges
from dressform.report.pictures.faults import SKIN_SCALES, Appearance, light, look_at, skin_legends
from dressform.report.pictures.picture import below, beside, legend, lettered
from dressform.report.pictures.raster import Drawable, Image, draw

PANEL = (620, 620)
MIN_RADIUS, MAX_RADIUS = 0.06, 0.16
"""A close-up shows at least and at most so much round its place, metres."""
BEYOND = 2.0
"""It shows so many times the extent of the place."""


@dataclass(frozen=True)
class Swapped:
    """One side of the picture.

    Attributes:
        body: The body.
        fit: The cloth that follows it.
        look: How the cloth looks where no fault is lit.
        fields: Its faults on the shape.
        words: Caption: which side this is and how much of the fault is there; it must fit the width.
    """

    body: Body
    fit: Fit
    look: Appearance
    fields: ShapeFields
    words: str


def swap_picture(
    before: Swapped, after: Swapped, place: Place, *, extent: float, title: str, lines: Sequence[str] = ()
) -> Image:
    """Close-ups of both sides, seen along the surface normal at the place, with the edges of the cloth.

    Args:
        before: The cloth as it is.
        after: The cloth with an ingredient swapped.
        place: Where to look, on `before`.
        extent: Radius of the place, metres.
        title: Stands above.
        lines: Stand below.
    """
    radius = float(np.clip(BEYOND * extent, MIN_RADIUS, MAX_RADIUS))
    camera = look_at(place, before.body, before.fit, before.fields, radius=radius)
    first = light(before.body, before.fit, before.fields, place.fault, look=before.look)
    second = light(after.body, after.fit, after.fields, place.fault, look=after.look)
    row = beside([_panel(one.meshes, camera, side.words) for one, side in ((first, before), (second, after))])
    legends = skin_legends(before.fields, after.fields, width=row.shape[1])
    if first.scale not in SKIN_SCALES.values():
        legends = [legend(first.scale, first.words, first.unit, width=row.shape[1]), *legends]
    return lettered(below([row, *legends]), title, lines)


def _panel(meshes: list[Drawable], camera: Camera, words: str) -> Image:
    """One side with its caption; the cloth, which is the second mesh, shows its edges."""
    image = draw(meshes, camera, PANEL, ground_shadow=False)
    return lettered(with_edges(image, meshes, camera, of=1), words)
