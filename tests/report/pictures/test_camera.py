import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.report.pictures.camera import VIEW_AZIMUTHS, Camera, close_up, framed

CUBE = np.array([[x, y, z] for x in (-0.3, 0.3) for y in (0.0, 1.7) for z in (-0.2, 0.2)])


@pytest.mark.parametrize("view", VIEW_AZIMUTHS)
@pytest.mark.parametrize("aspect", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("perspective", [True, False])
def test_a_framed_view_holds_every_point_and_wastes_little(view: str, aspect: float, perspective: bool) -> None:
    camera = framed(CUBE, view, aspect=aspect, perspective=perspective)
    seen = camera.project(CUBE, width=1, height=1)[:, :2] - 0.5
    seen[:, 0] /= aspect
    assert np.abs(seen).max() < 0.5
    assert np.abs(seen).max() > 0.42


def test_the_front_view_shows_the_left_of_the_body_on_the_right_of_the_picture() -> None:
    camera = framed(CUBE, "front", aspect=1.0)
    left, crown = camera.project(np.array([[0.3, 0.8, 0.0], [0.0, 1.7, 0.0]]), width=100, height=100)
    assert left[0] > 50
    assert crown[1] < 50


def test_a_point_at_twice_the_distance_is_drawn_at_half_the_size() -> None:
    camera = Camera(np.array([0.0, 0.0, 2.0]), np.zeros(3), 1.0)
    near, far = camera.project(np.array([[0.1, 0.0, 0.0], [0.1, 0.0, -2.0]]), width=100, height=100)
    assert near[0] - 50 == pytest.approx(10.0)
    assert far[0] - 50 == pytest.approx(5.0)
    assert far[2] == pytest.approx(4.0)


def test_a_parallel_projection_keeps_sizes() -> None:
    camera = Camera(np.array([0.0, 0.0, 2.0]), np.zeros(3), 1.0, perspective=False)
    near, far = camera.project(np.array([[0.1, 0.0, 0.0], [0.1, 0.0, -2.0]]), width=100, height=100)
    assert near[0] == pytest.approx(far[0])


def test_a_close_up_stands_on_the_side_the_normal_points_to() -> None:
    place, normal = np.array([0.1, 1.2, 0.15]), np.array([0.6, 0.0, 0.8])
    camera = close_up(place, 0.1, normal=normal)
    towards = (camera.eye - place) / camera.distance
    assert float(towards @ normal) == pytest.approx(1.0)
    assert camera.project(place[None], width=80, height=60)[0, :2] == pytest.approx([40, 30])


def test_axes_are_right_handed_and_orthonormal_even_straight_down() -> None:
    for eye in ([0.3, 2.0, 1.0], [0.0, 3.0, 0.0], [0.0, -3.0, 0.0]):
        axes = Camera(np.array(eye), np.zeros(3), 1.0).axes()
        np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
        np.testing.assert_allclose(np.cross(axes[0], axes[1]), -axes[2], atol=1e-12)


def test_an_unknown_view_is_refused_with_the_valid_names() -> None:
    with pytest.raises(ArgumentError, match=r"`view` must be one of front, side, back, three-quarter, got 'top'"):
        framed(CUBE, "top", aspect=1.0)
