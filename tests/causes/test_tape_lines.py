"""A place is told from the nearest tape line, on the shape where it was seen; an arm has none."""

import numpy as np
import pytest
from msgspec.structs import replace

from dressform.body.body import Body
from dressform.causes.tape_lines import TapeLines, find_tape_lines
from dressform.demo.body import make_demo_bodies
from dressform.faults.body_context import BodyContext
from dressform.faults.results import Place
from findings import place
from phantoms import phantom_body


@pytest.fixture(scope="module")
def woman() -> Body:
    return make_demo_bodies()["woman"]


def lines_of(body: Body) -> TapeLines:
    context = BodyContext(body)
    return find_tape_lines(context.standing, context.trunk)


@pytest.fixture(scope="module")
def lines(woman: Body) -> TapeLines:
    return lines_of(woman)


def at(x: float, y: float, z: float) -> Place:
    return replace(place(), position_m=(x, y, z))


def test_the_lines_are_those_of_the_tape(lines: TapeLines) -> None:
    assert set(lines.marks) == {"bust", "hip", "under-bust", "waist", "neck"}


@pytest.mark.parametrize("shape", [{}, {"belly": 1.0}, {"stature": 1.0}])
def test_a_place_is_told_by_its_distance_on_that_shape(woman: Body, lines: TapeLines, shape: dict[str, float]) -> None:
    skin = woman.at(woman.weights(shape))
    waist = float(lines.marks["waist"].at(skin)[1])
    assert lines.near(at(0.05, waist - 0.042, 0.15), skin) == "4.2 cm below the waist line"
    assert lines.near(at(0.05, waist + 0.0161, 0.15), skin) == "1.6 cm above the waist line"
    assert lines.near(at(0.05, waist + 0.004, 0.15), skin) == "on the waist line"


def test_an_arm_and_a_shin_are_not_told_from_lines_of_the_trunk(woman: Body, lines: TapeLines) -> None:
    hand = woman.vertices[np.argmax(woman.vertices[:, 0])]
    assert lines.near(at(*hand), woman.vertices) == ""
    assert lines.near(at(0.1, 0.2, 0.0), woman.vertices) == ""


def test_a_body_without_a_trunk_has_no_lines() -> None:
    body = phantom_body()
    lines = lines_of(body)
    assert not lines.marks
    assert lines.near(at(0.0, 1.0, 0.1), body.vertices) == ""
