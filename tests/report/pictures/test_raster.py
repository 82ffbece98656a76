import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.report.pictures.camera import Camera
from dressform.report.pictures.raster import Drawable, draw

FRONT = Camera(np.array([0.0, 0.0, 5.0]), np.zeros(3), 2.0, perspective=False)
RED, BLUE = (0.9, 0.1, 0.1), (0.1, 0.1, 0.9)


def square(half: float, depth: float, *, flip: bool = False) -> tuple[np.ndarray, np.ndarray]:
    corners = np.array([[-half, -half, depth], [half, -half, depth], [half, half, depth], [-half, half, depth]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    return corners, faces[:, ::-1] if flip else faces


def drawn(image: np.ndarray) -> np.ndarray:
    return np.any(image < 250, axis=2)


def plain(drawables: list[Drawable], size: tuple[int, int] = (200, 200)) -> np.ndarray:
    return draw(drawables, FRONT, size, background="white", ground_shadow=False)


def test_a_square_covers_the_pixels_of_its_area() -> None:
    image = plain([Drawable(*square(0.5, 0.0), RED)])
    assert drawn(image).sum() == 100 * 100
    assert drawn(image)[50:150, 50:150].all()


def test_a_disc_of_many_triangles_covers_pi_r_squared_without_cracks() -> None:
    angles = np.linspace(0, 2 * np.pi, 97)[:-1]
    rim = np.stack([0.8 * np.cos(angles), 0.8 * np.sin(angles), 0 * angles], axis=1)
    vertices = np.vstack([[[0.0, 0.0, 0.0]], rim])
    faces = np.array([[0, 1 + k, 1 + (k + 1) % 96] for k in range(96)])
    covered = drawn(plain([Drawable(vertices, faces, RED)]))
    assert covered.sum() == pytest.approx(np.pi * 80**2, rel=0.01)
    rows, columns = np.indices(covered.shape)
    assert covered[(rows - 99.5) ** 2 + (columns - 99.5) ** 2 < 78**2].all()


@pytest.mark.parametrize("order", [1, -1])
def test_the_nearer_mesh_hides_the_farther_whatever_the_order(order: int) -> None:
    meshes = [Drawable(*square(0.4, 0.3), RED), Drawable(*square(0.8, 0.0), BLUE)]
    image = plain(meshes[::order]).astype(int)
    assert image[100, 100, 0] > image[100, 100, 2]
    assert image[30, 30, 2] > image[30, 30, 0]


def test_crossing_meshes_are_cut_where_they_cross() -> None:
    tilted, faces = square(0.9, 0.0)
    tilted[:, 2] = 0.5 * tilted[:, 0]
    image = plain([Drawable(tilted, faces, RED), Drawable(*square(0.9, 0.0), BLUE)]).astype(int)
    row = image[100]
    assert (row[20:98, 2] > row[20:98, 0]).all()
    assert (row[102:180, 0] > row[102:180, 2]).all()


def test_perspective_interpolates_colours_in_space_not_on_the_screen() -> None:
    strip = np.array([[-0.5, -1.0, 0.0], [0.5, -1.0, 0.0], [0.5, 1.0, -4.0], [-0.5, 1.0, -4.0]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    colours = np.array([[1.0, 0, 0], [1, 0, 0], [0, 0, 1], [0, 0, 1]])
    camera = Camera(np.array([0.0, 0.0, 2.0]), np.zeros(3), 3.0)
    image = draw([Drawable(strip, faces, colours)], camera, (200, 200), background="white", ground_shadow=False)
    middle = camera.project(strip.mean(axis=0)[None], width=200, height=200)[0]
    red, _, blue = image[round(middle[1]), 100].astype(int)
    assert abs(red - blue) < 12


def test_both_sides_are_drawn_and_the_back_is_darker() -> None:
    front, back = (plain([Drawable(*square(0.5, 0.0, flip=flip), RED)])[100, 100] for flip in (False, True))
    assert front[0] > back[0] > 40


def test_a_roof_casts_its_shadow_on_the_floor_below() -> None:
    floor, faces = square(1.0, 0.0)
    roof, _ = square(0.25, 0.5)
    lit = plain([Drawable(floor, faces, (0.8, 0.8, 0.8))]).astype(int)
    shaded = plain([Drawable(floor, faces, (0.8, 0.8, 0.8)), Drawable(roof, faces, RED)]).astype(int)
    darker = (lit - shaded)[:, :, 1] > 15
    rows, columns = np.nonzero(darker & (shaded[:, :, 0] < shaded[:, :, 1] + 40))
    # The main light stands upper left of the camera, so the shadow falls to the lower right.
    assert rows.mean() > 105
    assert columns.mean() > 105


def test_triangles_before_the_near_distance_are_left_out() -> None:
    camera = Camera(np.array([0.0, 0.0, 5.0]), np.zeros(3), 2.0, perspective=False, near=4.8)
    meshes = [Drawable(*square(0.4, 0.3), RED), Drawable(*square(0.8, 0.0), BLUE)]
    image = draw(meshes, camera, (100, 100), background="white", ground_shadow=False).astype(int)
    assert image[50, 50, 2] > image[50, 50, 0]


def test_the_ground_darkens_under_a_standing_thing_only_when_asked() -> None:
    block = np.array([[x, y, z] for x in (-0.2, 0.2) for y in (0.0, 1.0) for z in (-0.2, 0.2)])
    faces = np.array([[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1], [2, 3, 7], [2, 7, 6]])
    with_shadow, without = (
        draw([Drawable(block, faces, RED)], "front", (120, 160), background="white", ground_shadow=on).astype(int)
        for on in (True, False)
    )
    assert (without - with_shadow).max() > 30
    assert np.abs(without - with_shadow)[:60].max() == 0


def test_wrong_backgrounds_and_empty_pictures_are_refused() -> None:
    with pytest.raises(ArgumentError, match="`background` must be one of white, paper, dark, got 'pink'"):
        draw([Drawable(*square(0.5, 0.0))], FRONT, background="pink")
    with pytest.raises(ArgumentError, match="`drawables` must be at least one mesh"):
        draw([], "front")
