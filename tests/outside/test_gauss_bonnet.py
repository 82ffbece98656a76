"""The demo's meshes against the theorem of Gauss and Bonnet, with curvature and Euler number by libigl.

Over a surface with openings, curvature plus the turning of its borders is 2 pi times the Euler number; a piece with n
openings has 2 - n. libigl's discrete curvature is 2 pi less the angles at a vertex, on borders too, where pi less the
angles would be the turning: so pi is taken off for every border vertex. Source: any text on differential geometry.
"""

from functools import cache

import igl
import numpy as np
import pytest

from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import DESIGNS, make_wardrobe
from dressform.demo.wardrobe_truth import read_truth
from dressform.garment.garment import Garment

GOOD = {good.name: good for good in read_truth().good}


@cache
def garment(name: str) -> Garment:
    return make_wardrobe(make_demo_bodies(), names=(name,))[name].garment


def total_curvature(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Curvature inside plus turning of the borders, in units of pi."""
    border = np.unique(np.asarray(igl.boundary_facets(faces)[0]))
    return float(np.sum(igl.gaussian_curvature(vertices, faces)) / np.pi - len(border))


@pytest.mark.parametrize(
    ("name", "expected"), [("guernsey", -4), ("trousers", -2), ("skirt", 0), ("souwester", 2), ("clogs", 8)]
)
def test_a_garment_is_curved_by_its_openings(name: str, expected: int) -> None:
    """Shirt: 4 openings, 2 - 4 = -2; trousers: 3; skirt: 2; hat: 1; two closed clogs: 2 and 2."""
    cloth = garment(name)
    assert total_curvature(cloth.vertices, cloth.faces) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("name", sorted(GOOD))
def test_curvature_and_euler_number_are_those_of_the_openings_that_the_truth_names(name: str) -> None:
    cloth = garment(name)
    pieces = igl.facet_components(cloth.faces)[0]
    euler = 2 * pieces - GOOD[name].openings
    assert igl.euler_characteristic(cloth.faces) == euler
    assert total_curvature(cloth.vertices, cloth.faces) == pytest.approx(2 * euler, abs=1e-6)


@pytest.mark.parametrize("name", ["woman", "man"])
def test_a_person_has_the_total_curvature_of_a_ball_at_any_shape(name: str) -> None:
    body = make_demo_bodies()[name]
    for weights in (body.range.low, np.zeros(len(body.morph_names)), body.range.high):
        assert total_curvature(body.at(weights), body.faces) == pytest.approx(4, abs=1e-6)


def test_every_garment_of_the_wardrobe_is_named_here_or_made_like_one_that_is() -> None:
    cut = {DESIGNS[name].make.__name__ for name in GOOD}
    others = {name for name, design in DESIGNS.items() if design.make.__name__ not in cut}
    assert others == {"guernsey_coarse", "guernsey_tight"}
    for name in others:
        assert total_curvature(garment(name).vertices, garment(name).faces) == pytest.approx(-4, abs=1e-6)
