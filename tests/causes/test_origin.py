"""Whether cloth away from tight places shows another shape too."""

import numpy as np
import pytest

import phantoms
from dressform.body.body import Body
from dressform.causes.origin import _shown_by_the_rest
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_normals


def sleeve(body: Body, belly: float) -> Garment:
    """Cloth 15 mm off a shape of the capsule, between two heights of its base body."""
    shape = body.at(body.weights({"belly": belly}))
    cloth = shape + 0.015 * vertex_normals(shape, body.faces)
    inside = (body.vertices[:, 1] >= 0.6) & (body.vertices[:, 1] <= 1.35)
    used, corners = np.unique(body.faces[inside[body.faces].all(axis=1)], return_inverse=True)
    return Garment.of("sleeve", cloth[used], corners.reshape(-1, 3))


@pytest.mark.parametrize(("belly", "shown"), [(0.9, True), (0.0, False)])
def test_cloth_cut_over_a_belly_shows_it_without_its_lower_end_and_straight_cloth_shows_none(
    belly: float, shown: bool
) -> None:
    body = phantoms.phantom_body()
    garment = sleeve(body, belly)
    tight = garment.vertices[:, 1] < 0.63
    assert tight.any()
    assert _shown_by_the_rest(body, garment, tight, ()) == shown


def test_where_too_little_cloth_is_left_nothing_is_shown() -> None:
    body = phantoms.phantom_body()
    garment = sleeve(body, 0.9)
    assert not _shown_by_the_rest(body, garment, garment.vertices[:, 1] < 1.2, ())
