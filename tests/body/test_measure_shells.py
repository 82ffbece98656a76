"""A body put together from parts is measured as one body; hair, eyes and what stands beside it stay out."""

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.measure import Measurer
from dressform.body.measure_shells import whole_body
from dressform.body.range import Range
from dressform.mesh.topology import face_components
from phantom import CROWN, Phantom

NOT_ALIKE = {"chest", "upper arm"}
"""What the phantom's arms, which run on into the trunk, change at the armpits."""


def measures(vertices: np.ndarray, faces: np.ndarray) -> dict[str, float]:
    body = Body("body", vertices, faces, (), np.zeros((0, *vertices.shape)), Range.unit(()))
    return {row.name: row.value for row in Measurer(body).measure(np.zeros(0)).rows if row.value is not None}


def cut_apart(body: Body, *, shrink: float) -> tuple[np.ndarray, np.ndarray]:
    """The body cut through neck, chest, both wrists, knees and the top of each leg, every part shrunk about itself."""
    middles = body.vertices[body.faces].mean(axis=1)
    x, y = middles[:, 0], middles[:, 1]
    arm = np.abs(x) > 0.24
    part = np.where(arm, 20 + np.sign(x) * (1 + (np.abs(x) > 0.49)), np.digitize(y, [0.30, 0.84, 1.16, 1.40]))
    part = np.where(~arm & (y < 0.84), part + 10 * (x > 0), part).astype(int)
    vertices, faces = [], []
    for label in np.unique(part):
        used, corners = np.unique(body.faces[part == label], return_inverse=True)
        points = body.vertices[used]
        faces.append(corners.reshape(-1, 3) + sum(map(len, vertices)))
        vertices.append(points + shrink * (points.mean(axis=0) - points))
    return np.concatenate(vertices), np.concatenate(faces)


def test_a_body_of_shells_that_stick_in_one_another_measures_as_the_whole() -> None:
    whole, shells = Phantom().body, Phantom().body_of_shells
    assert face_components(shells.faces, len(shells.vertices)).max() == 8
    expected, taken = measures(whole.vertices, whole.faces), measures(shells.vertices, shells.faces)
    assert set(taken) == set(expected)
    for name in set(expected) - NOT_ALIKE:
        assert taken[name] == pytest.approx(expected[name], rel=0.01), name


@pytest.mark.parametrize("shrink", [0.0, 0.005])
def test_a_body_cut_into_parts_measures_as_the_whole(shrink: float) -> None:
    body = Phantom().body
    expected, taken = measures(body.vertices, body.faces), measures(*cut_apart(body, shrink=shrink))
    assert set(taken) == set(expected)
    for name in expected:
        assert taken[name] == pytest.approx(expected[name], rel=0.005 + 1.5 * shrink), name


def test_a_head_of_its_own_counts_for_the_stature() -> None:
    shells = Phantom().body_of_shells
    assert whole_body(shells.vertices, shells.faces).faces.all()


def test_a_hat_on_the_head_does_not_count_for_the_stature() -> None:
    body = Phantom().body
    vertices, faces = with_octahedron(body, radius=0.2, at=np.array([0.0, CROWN, 0.0]))
    assert vertices[:, 1].max() == pytest.approx(CROWN + 0.2)
    assert measures(vertices, faces)["stature"] == pytest.approx(CROWN, abs=1e-3)


def test_a_ball_beside_the_body_is_no_part_of_it() -> None:
    body = Phantom().body
    kept = whole_body(*with_octahedron(body, radius=0.1, at=np.array([1.5, 1.2, 0.0]))).faces
    assert kept[: len(body.faces)].all()
    assert not kept[len(body.faces) :].any()


def with_octahedron(body: Body, *, radius: float, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    corners = np.array([[1.0, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]])
    sides = [[0, 2, 4], [2, 1, 4], [1, 3, 4], [3, 0, 4], [2, 0, 5], [1, 2, 5], [3, 1, 5], [0, 3, 5]]
    vertices = np.concatenate([body.vertices, radius * corners + at])
    return vertices, np.concatenate([body.faces, np.array(sides) + len(body.vertices)])


def without_hands(body: Body) -> Body:
    """The body with its hands cut off, so that no shell of it reaches as far as all."""
    hand = np.abs(body.vertices[body.faces].mean(axis=1)[:, 0]) > 0.49
    vertices, faces = [], []
    for part in (hand, ~hand):
        used, corners = np.unique(body.faces[part], return_inverse=True)
        faces.append(corners.reshape(-1, 3) + sum(map(len, vertices)))
        vertices.append(body.vertices[used])
    points, triangles = np.concatenate(vertices), np.concatenate(faces)
    return Body("cut", points, triangles, (), np.zeros((0, *points.shape)), Range.unit(()))


@pytest.mark.parametrize(
    ("at", "belongs"),
    [
        ((0.25, 1.455, 0.0), True),  # over the shoulder, a hand wide beside the head
        ((0.06, CROWN + 0.02, 0.0), False),  # on the head
        ((0.0, 1.0, 0.19), True),  # 3 cm before the belly
        ((0.0, 1.0, 0.24), False),  # 8 cm before it
    ],
)
def test_a_part_belongs_to_the_body_where_it_is_near_and_not_over_the_head(
    at: tuple[float, float, float], belongs: bool
) -> None:
    body = without_hands(Phantom().body)
    kept = whole_body(*with_octahedron(body, radius=0.05, at=np.array(at))).faces
    assert kept[: len(body.faces)].all()
    assert kept[len(body.faces) :].tolist() == [belongs] * 8
