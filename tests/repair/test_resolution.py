"""The resolution index is the closed form, and what it predicts is what happens."""

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shapes import Shape
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.tree import Tree
from dressform.repair.bisect import radius_squared
from dressform.repair.resolution import FINEST, measure_resolution
from fault_meshes import icosphere, make_body
from phantoms import GIRTH_GAIN, RADIUS, capsule, phantom_body, tube

MARGIN = 0.001
NO_MARGIN = 1e-9
ROOM = 0.004


def _fit(body: Body, *, sides: int, clearance: float, rings: int = 60, margin: float = MARGIN) -> Fit:
    garment = Garment.of("tube", *tube(clearance=clearance, rings=rings, sides=sides))
    return make_fit(body, garment, Following(margin_mm=1e3 * margin))


def test_the_index_is_the_closed_form_round_a_capsule() -> None:
    """κ = 1/R at the base; with girth R grows by a quarter, and so does ρ along the bend while the room stays."""
    body = phantom_body(rings=100, sides=160)
    fit = _fit(body, sides=16, clearance=0.02)
    shapes = [Shape("girth", body.weights({"girth": 1.0}))]
    found = measure_resolution(fit, shapes=shapes)
    inner = np.abs(fit.base[fit.garment.faces].mean(axis=1)[:, 1] - 0.95) < 0.25
    radius = RADIUS * (1 + GIRTH_GAIN)
    chord = 2 * (radius + 0.02) * np.sin(np.pi / 16)
    rung = (1.3 - 0.6) / 59
    squared = (chord**2 + rung**2) / 4
    assert set(found.shape[inner].tolist()) == {1}
    assert found.labels == ("base", "girth")
    assert found.radius[inner] ** 2 == pytest.approx(squared, rel=0.02)
    assert found.curvature[inner] == pytest.approx(1 / radius, rel=0.02)
    assert found.room[inner] == pytest.approx(0.02 - MARGIN, abs=5e-4)
    assert found.index[inner] == pytest.approx(squared / (2 * radius) / (0.02 - MARGIN), rel=0.05)


@pytest.mark.parametrize("clearance", [0.8, 1.25])
def test_chords_cross_the_body_just_when_the_index_passes_one(clearance: float) -> None:
    """With rungs much shorter than chords ½κρ² is the sagitta L²/8R: less clearance crosses, more does not."""
    sides = 18
    chord = 2 * RADIUS * np.sin(np.pi / sides)
    sagitta = chord**2 / (8 * RADIUS)
    body = phantom_body(rings=100, sides=200)
    fit = _fit(body, sides=sides, clearance=clearance * sagitta, rings=200, margin=NO_MARGIN)
    found = measure_resolution(fit, shapes=[])
    crosses = len(crossing_pairs(Tree(fit.base, fit.garment.faces), Tree(body.vertices, body.faces))) > 0
    inner = np.abs(fit.base[fit.garment.faces].mean(axis=1)[:, 1] - 0.95) < 0.25
    assert found.failing[inner].all() == crosses == (clearance < 1)
    assert (found.failing[inner].any()) == crosses


def test_a_belly_that_grows_fails_in_front_and_nowhere_else() -> None:
    body = phantom_body(rings=100, sides=120)
    fit = _fit(body, sides=18, clearance=0.006, rings=30)
    found = measure_resolution(fit)
    centres = fit.base[fit.garment.faces].mean(axis=1)
    assert found.failing.any()
    assert {found.labels[shape] for shape in found.shape[found.failing]} == {"belly=1"}
    assert centres[found.failing][:, 2].min() > 0
    assert np.abs(centres[found.failing][:, 1] - 1.0).max() < 0.2


def test_hollow_skin_and_cloth_inside_the_body_have_no_index() -> None:
    vertices, faces = capsule(rings=60, sides=60)
    still = Body("inside out", vertices, faces[:, ::-1].copy(), (), np.zeros((0, len(vertices), 3)), Range.unit(()))
    assert measure_resolution(_fit(still, sides=24, clearance=-0.02)).index.max() < 1e-6
    body = phantom_body()
    assert measure_resolution(_fit(body, sides=24, clearance=-0.01), shapes=[]).index.max() == 0.0


def test_of_shapes_that_bend_alike_the_first_is_told() -> None:
    vertices, faces = capsule(rings=60, sides=60)
    names = ("one", "two")
    still = Body("still", vertices, faces, names, np.zeros((2, len(vertices), 3)), Range.unit(names))
    found = measure_resolution(_fit(still, sides=16, clearance=0.02))
    assert found.labels[0] == "base"
    assert len(found.labels) > 1
    assert found.index.max() > 0
    assert set(found.shape.tolist()) == {0}


def test_cloth_much_finer_than_the_skin_lacks_no_vertices() -> None:
    """The skin's own triangles are flat: pieces much smaller than they are come no nearer to it."""
    ball, triangles = icosphere(0.4, level=0)
    body = make_body(ball, triangles, still=np.zeros(3))
    found = {}
    for level in (0, 3):
        fit = make_fit(body, Garment.of("shell", *icosphere(0.404, level=level)), Following())
        found[level] = measure_resolution(fit)
    assert not found[3].failing.any()
    skin = radius_squared(ball[triangles])
    uncapped = 0.5 * found[3].curvature * found[3].radius ** 2 / 0.001
    assert uncapped.max() > 1.0
    assert found[3].index.max() <= FINEST * found[3].radius.max() ** 2 / skin.min()
    assert found[0].failing.any()
