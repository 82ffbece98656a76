"""What a body measures by the tape, as numbers."""

import numpy as np

from dressform.body.body import Body
from dressform.body.measure import Measurer, Measures


def base_measures(body: Body) -> Measures:
    return Measurer(body).measure(np.zeros(len(body.morph_names)))


def values(measures: Measures) -> dict[str, float]:
    return {row.name: row.value for row in measures.rows if row.value is not None}
