"""A body that only lends its morphs: for fits that are given by a formula."""

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment


def bare_body(names: tuple[str, ...], *, box: Range | None = None) -> Body:
    """One triangle that no morph moves."""
    corner = np.eye(3)
    still = np.zeros((len(names), 3, 3))
    return Body("bare", corner, np.array([[0, 1, 2]]), names, still, box or Range.unit(names))


def bare_fit(
    garment: Garment, names: tuple[str, ...], deltas: np.ndarray, *, following: Following = DEFAULT_FOLLOWING
) -> Fit:
    """A garment that moves by the deltas given."""
    return Fit(bare_body(names), garment, following, garment.vertices, deltas)
