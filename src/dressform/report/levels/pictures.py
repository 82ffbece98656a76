"""Pictures of a level beside the next finer one: both worn on the worst shape, and both outlines over each other."""

import numpy as np

from dressform.fit.fit import Fit
from dressform.levels.apart import ShapeApart, weights_for
from dressform.levels.outline import Outlines, outlines
from dressform.report.html.pictures import plain_look
from dressform.report.pictures.faults import Appearance, worn_picture
from dressform.report.pictures.picture import PAPER, beside, lettered
from dressform.report.pictures.raster import Image

BOTH, ONLY_FINER, ONLY_COARSER = (205, 205, 200), (38, 92, 168), (214, 98, 20)
PANEL = (420, 560)


def level_picture(
    finer: Fit, coarser: Fit, apart: ShapeApart, looks: tuple[Appearance | None, Appearance | None]
) -> Image:
    """The finer and the coarser level on the shape on which their outlines are farthest apart, and these outlines.

    Args:
        finer: The finer level.
        coarser: The coarser one.
        apart: How far they are apart on a shape of the coarser level's body.
        looks: Their own colours; one quiet colour where None.
    """
    theirs = weights_for(finer.body, coarser.body, apart.shape.weights)
    worn = []
    for fit, weights, look in ((finer, theirs, looks[0]), (coarser, apart.shape.weights, looks[1])):
        image = worn_picture(fit.body, fit, look or plain_look(fit), weights, "three-quarter", PANEL)
        worn.append(lettered(image, f"{fit.garment.name}, {len(fit.base)} vertices"))
    seen = outlines(
        (finer.at(theirs), finer.garment.faces),
        (coarser.at(apart.shape.weights), coarser.garment.faces),
        apart.seen.direction,
    )
    drawn = lettered(outline_picture(seen, PANEL), f"Outlines, seen {apart.seen.direction.words}")
    return beside([*worn, drawn])


def outline_picture(seen: Outlines, size: tuple[int, int]) -> Image:
    """What both meshes cover grey, what only the finer covers blue, what only the coarser covers orange."""
    rows, columns = seen.first.shape
    image = np.full((rows, columns, 3), PAPER, dtype=np.uint8)
    image[seen.first & seen.second] = BOTH
    image[seen.first & ~seen.second] = ONLY_FINER
    image[seen.second & ~seen.first] = ONLY_COARSER
    scale = max(rows / size[1], columns / size[0])
    y = ((np.arange(size[1]) - size[1] / 2) * scale + rows / 2).astype(int)
    x = ((np.arange(size[0]) - size[0] / 2) * scale + columns / 2).astype(int)
    inside = ((y >= 0) & (y < rows))[:, None] & ((x >= 0) & (x < columns))[None, :]
    picked = image[np.clip(y, 0, rows - 1)[:, None], np.clip(x, 0, columns - 1)[None, :]]
    return np.where(inside[..., None], picked, np.array(PAPER, dtype=np.uint8))
