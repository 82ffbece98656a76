"""A slider's thread ends where its morph moves most."""

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.report.page.sliders import moved_most, page_sliders
from phantoms import phantom_body

BODY = phantom_body()


def test_a_morph_of_both_sides_ends_on_both_and_not_on_the_middle_between() -> None:
    """Threads to hands, arms and legs ended on the belly, which is the middle between them."""
    x, y, _ = BODY.vertices.T
    at = np.exp(-(((np.abs(x) - np.abs(x).max()) / 0.03) ** 2) - ((y - 1.0) / 0.05) ** 2)
    delta = at[:, None] * np.sign(x)[:, None] * [1.0, 0.0, 0.0]
    body = Body("wide", BODY.vertices, BODY.faces, ("hands",), delta[None], Range.unit(("hands",)))
    (slider,) = page_sliders(body)
    assert abs(slider.position_m[0]) < 0.01
    left, right = body.vertices[list(slider.ends)]
    assert left[0] > 0.1
    assert right[0] < -0.1
    assert abs(left[1] - 1.0) < 0.05


def test_a_morph_in_front_ends_in_front() -> None:
    x, y, z = BODY.vertices.T
    belly = np.where(z > 0, np.exp(-((x / 0.05) ** 2) - ((y - 1.0) / 0.1) ** 2), 0.0)
    (end,) = moved_most(BODY.vertices, belly)
    assert BODY.vertices[end, 2] > 0.1
    assert abs(BODY.vertices[end, 0]) < 0.04


def test_a_morph_that_moves_nothing_has_no_end() -> None:
    assert moved_most(BODY.vertices, np.zeros(len(BODY.vertices))) == ()
