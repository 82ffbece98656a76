"""Cloth gets vertices only where a fault over the range goes away with them."""

import numpy as np

from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.repair.chain import repair_fit
from dressform.repair.faulty import crossed_triangles, patches_with
from dressform.repair.refine import refine, refine_faults
from phantoms import phantom_body, tube

BODY = {"rings": 60, "sides": 80}


def _fit(*, sides: int, clearance: float, rings: int = 14) -> Fit:
    vertices, faces = tube(clearance=clearance, rings=rings, sides=sides)
    return make_fit(phantom_body(**BODY), Garment.of("tube", vertices, faces), Following(margin_mm=5))


def test_clean_cloth_whose_triangles_leave_little_room_gets_no_vertex() -> None:
    fit = _fit(sides=30, clearance=0.006)
    assert refine(fit, max_rounds=1).added > 0, "the index must fail, or this shows nothing"
    assert not crossed_triangles(fit).any()
    assert refine_faults(fit).fit is fit
    assert len(repair_fit(fit, repairs=("refine",)).fit.base) == len(fit.base)


def test_cloth_that_the_body_comes_through_is_split_until_it_does_not() -> None:
    fit = _fit(sides=12, clearance=0.012)
    before = crossed_triangles(fit)
    assert before.any()
    done = refine_faults(fit)
    assert done.added > 0
    assert crossed_triangles(done.fit).sum() == 0


def test_a_patch_is_joined_at_its_corners_and_holds_a_marked_triangle() -> None:
    faces = np.array([[0, 1, 2], [2, 3, 4], [5, 6, 7], [7, 8, 9]])
    found = patches_with(faces, np.array([True, True, True, False]), np.array([False, True, False, True]), 10)
    assert found.tolist() == [True, True, False, False]
