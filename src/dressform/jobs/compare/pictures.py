"""Pictures of a comparison: the largest losses and gains, both sides beside each other on the same shape."""

from collections.abc import Mapping

import numpy as np

from dressform.fit.fit import Fit
from dressform.formats.load import GarmentFile
from dressform.formats.results.compare_schema import ComparedGarment, StoredComparison
from dressform.jobs.compare.measures import MEASURES, SETUP
from dressform.report.html.pictures import plain_look
from dressform.report.pictures.faults import worn_picture
from dressform.report.pictures.looks import look_of
from dressform.report.pictures.picture import beside, lettered
from dressform.report.pictures.raster import Image
from dressform.report.tables.check import label_words

PICTURED = 6
"""So many losses and gains are pictured."""
SIZE = (420, 620)

SideFits = Mapping[str, Mapping[str, Fit]]
"""By side, the fits of its garments by the name that they have on the first side."""


def pictured(told: StoredComparison, *, most: int = PICTURED) -> list[ComparedGarment]:
    """What is pictured: the largest losses first, then the largest gains; one per garment and measure at rest."""
    return [one for one in (*told.losses, *told.gains) if one.measure != SETUP and not one.stance][:most]


def paired_pictures(told: StoredComparison, fits: SideFits) -> dict[str, Image]:
    """Pictures by file name; garments that cannot be made again on both sides are left out."""
    there = set(fits[told.first]) & set(fits[told.second])
    return {
        f"{number:02d}-{one.garment}-{one.measure}.png": _pair(one, told, fits)
        for number, one in enumerate(pictured(told), start=1)
        if one.garment in there
    }


def _pair(one: ComparedGarment, told: StoredComparison, fits: SideFits) -> Image:
    words = {measure.key: (measure.words, measure.unit) for measure in MEASURES}
    name, unit = words[one.measure]
    images = []
    for side, value, severity in (
        (told.first, one.before, one.severity_before),
        (told.second, one.after, one.severity_after),
    ):
        fit = fits[side][one.garment]
        source = fit.garment.source
        look = look_of(source, number=0) if isinstance(source, GarmentFile) else plain_look(fit)
        picture = worn_picture(fit.body, fit, look, fit.body.weights(one.weights), "three-quarter", SIZE)
        images.append(lettered(picture, f"{side}: {value:.1f} {unit} ({severity})"))
    shape = label_words(one.shape, np.array(list(one.weights.values())), tuple(one.weights))
    return lettered(beside(images), f"{one.garment} at {shape}: {name}")
