"""Which parts are likely stiff, and why."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.garment.garment import Garment
from dressform.garment.stiff_signs import stiff_signs, wall
from people import ball, ring
from small_garments import belt, box, of_parts


def test_a_part_is_likely_stiff_by_a_word_of_its_name_in_any_spelling() -> None:
    assert stiff_signs(belt(buckle="Buckles_2")) == {"Buckles_2": "it is called a buckle"}
    assert stiff_signs(belt(buckle="BrassBuckleFront")) == {"BrassBuckleFront": "it is called a buckle"}


def test_what_the_file_says_of_stiffness_counts_before_every_other_sign() -> None:
    soft = replace(belt(), stiffness={"buckle": 0.2, "strap": 0.7})
    assert stiff_signs(soft) == {"strap": "its file calls it stiff (0.7)"}


def test_a_solid_piece_is_likely_stiff_and_cloth_laid_double_is_not() -> None:
    band = ring(1.0, 0.2)
    thick = of_parts("mixed", {"band": band, "block": box((0, 1, 0.3), (0.2, 0.1, 0.04))})
    assert stiff_signs(thick) == {"block": "it is closed and 25 mm thick"}
    thin = of_parts("mixed", {"band": band, "flap": box((0, 1, 0.3), (0.3, 0.3, 0.004))})
    assert stiff_signs(thin) == {}


def test_the_thickness_of_a_closed_shell_is_that_of_its_wall() -> None:
    """A ball of radius r has 2 V / A = 2 r / 3, within what its facets cut off; where it lies does not matter."""
    vertices, faces = ball((0.0, 0.0, 0.0), (0.3, 0.3, 0.3), around=48)
    assert wall(vertices, faces) == pytest.approx(0.2, rel=0.01)
    assert wall(vertices + np.array([5.0, -3.0, 1.0]), faces) == pytest.approx(wall(vertices, faces), rel=1e-9)


def test_a_part_without_triangles_has_no_sign() -> None:
    made = belt()
    empty = Garment(made.name, made.vertices, made.faces, (*made.part_names, "buckles"), made.face_parts, made.strength)
    assert set(stiff_signs(empty)) == {"buckle"}
    assert np.array_equal(empty.vertices, made.vertices)
