"""Whether cloth away from tight places shows another shape too."""

from dataclasses import replace

import numpy as np
import pytest

import phantoms
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.causes.origin import _shown_by_the_rest, find_origin
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.infer.results import OTHER_SHAPE
from dressform.infer.shape import infer_shape
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree


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
    assert _shown_by_the_rest(body, garment, tight, infer_shape(body, garment), ()) == shown


def test_where_too_little_cloth_is_left_nothing_is_said() -> None:
    body = phantoms.phantom_body()
    garment = sleeve(body, 0.9)
    found = infer_shape(body, garment)
    assert _shown_by_the_rest(body, garment, garment.vertices[:, 1] < 1.2, found, ()) is None


def test_cloth_that_prefers_the_shape_of_the_whole_by_far_shows_it_though_it_does_not_exclude_the_base() -> None:
    """A waistcoat for a taller woman was told to be too tight: what is left of it away from the armholes says less."""
    woman = make_demo_bodies()["woman"]
    made = make_wardrobe(make_demo_bodies())["waistcoat"].garment
    taller = replace(made, vertices=make_fit(woman, made).at(woman.weights({"stature": 1.0})))
    clearance, _ = signed_clearance(Tree(woman.vertices, woman.faces), taller.vertices)
    origin = find_origin(make_fit(woman, taller), clearance, others=())
    assert origin is not None
    assert origin.figures["weight/stature"] == pytest.approx(1.0, abs=0.2)


def test_a_dent_in_the_middle_is_no_body_that_stands_farther_back() -> None:
    """A hat that was too tight in front was told to be made for an older woman, whose head is carried otherwise."""
    body = swaying()
    normals = vertex_normals(body.vertices, body.faces)
    away = np.hypot(body.vertices[:, 0], body.vertices[:, 1] - 1.0)
    dent = np.clip(1.5 - away / 0.12, 0.0, 1.0) * (body.vertices[:, 2] > 0.0)
    cloth = body.vertices + (0.03 - 0.032 * dent)[:, None] * normals
    inside = (body.vertices[:, 1] >= 0.6) & (body.vertices[:, 1] <= 1.35)
    used, corners = np.unique(body.faces[inside[body.faces].all(axis=1)], return_inverse=True)
    garment = Garment.of("sleeve", cloth[used], corners.reshape(-1, 3))
    clearance, _ = signed_clearance(Tree(body.vertices, body.faces), garment.vertices)
    assert infer_shape(body, garment, others=()).verdict == OTHER_SHAPE
    assert find_origin(make_fit(body, garment), clearance, others=()) is None


def swaying() -> Body:
    """The capsule, which may also stand 4 cm farther back or forward."""
    body = phantoms.phantom_body()
    names = (*body.morph_names, "sway")
    back = np.tile([0.0, 0.0, -0.04], (1, len(body.vertices), 1))
    box = Range(names, np.append(body.range.low, -1.0), np.append(body.range.high, 1.0))
    return replace(body, morph_names=names, deltas=np.concatenate([body.deltas, back]), range=box)
