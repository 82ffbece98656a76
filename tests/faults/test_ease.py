import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.errors import ArgumentError
from dressform.faults.ease import girth_ease, make_tapes
from dressform.faults.kernels.ease import hull_perimeter, section_points
from dressform.mesh.nearest import closest
from dressform.mesh.sections import girth
from dressform.mesh.tree import Tree
from fault_meshes import make_body, pipe
from phantoms import RADIUS, phantom_body, tube


def tapes_on(body, cloth, faces, **levels):
    feet = closest(Tree(body.vertices, body.faces), cloth).faces
    return make_tapes(body, cloth, faces, feet, levels=levels)


@pytest.mark.parametrize("clearance", [0.004, 0.02, 0.05])
def test_uniform_clearance_gives_two_pi_times_itself(clearance):
    """Both sections are regular polygons; with n sides a circle of radius r reads 2nr sin(π/n)."""
    body = phantom_body(sides=240)
    cloth, faces = tube(clearance=clearance, sides=240)
    tapes = tapes_on(body, cloth, faces, middle=0.95)
    base, now = girth_ease(tapes, body.vertices, cloth)["middle"]
    assert base == now == pytest.approx(2 * np.pi * clearance, rel=2e-4)


def test_uniform_clearance_on_an_ellipse_gives_two_pi_times_itself():
    """Steiner: the outline does not matter. The offset curve of an ellipse is no ellipse."""
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    skin = np.stack([0.18 * np.sin(turn), 0.11 * np.cos(turn)], axis=1)
    normal = np.stack([np.sin(turn) / 0.18, np.cos(turn) / 0.11], axis=1)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    ease = hull_perimeter(skin + 0.015 * normal) - hull_perimeter(skin)
    assert ease == pytest.approx(2 * np.pi * 0.015, rel=1e-4)


def test_hull_of_an_ellipse_has_its_perimeter():
    turn = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    assert hull_perimeter(np.stack([3 * np.sin(turn), 2 * np.cos(turn)], axis=1)) == pytest.approx(15.8654396, rel=1e-5)


def test_hull_of_two_circles_is_a_belt():
    turn = np.linspace(0, 2 * np.pi, 2000, endpoint=False)
    circle = 0.08 * np.stack([np.sin(turn), np.cos(turn)], axis=1)
    both = np.concatenate([circle, circle + np.array([0.2, 0.0])])
    assert hull_perimeter(both) == pytest.approx(2 * np.pi * 0.08 + 2 * 0.2, rel=1e-5)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_hull_agrees_with_qhull_on_random_sections(seed):
    rng = np.random.default_rng(seed)
    vertices, faces = pipe(0.2, 0.4, edge=0.05)
    vertices = vertices + 0.03 * rng.normal(size=vertices.shape)
    level = rng.uniform(0.1, 0.3)
    found = hull_perimeter(section_points(vertices, faces.astype(np.int64), np.arange(len(faces)), level))
    plane = np.array([0.0, level, 0.0]), np.array([0.0, 1.0, 0.0])
    assert found == pytest.approx(girth(vertices, faces, *plane), rel=1e-12)


@pytest.mark.parametrize(
    ("points", "expected"),
    [
        ([], 0.0),
        ([[1.0, 2.0]], 0.0),
        ([[0.0, 0.0], [3.0, 4.0]], 10.0),
        ([[0.0, 0.0], [0.0, 1.0], [0.0, 3.0], [0.0, 2.0]], 6.0),
        ([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.5, 0.5], [1.0, 1.0]], 4.0),
    ],
)
def test_hull_of_few_or_aligned_points_is_measured_there_and_back(points, expected):
    assert hull_perimeter(np.array(points, dtype=float).reshape(-1, 2)) == pytest.approx(expected, abs=1e-12)


def test_the_tape_follows_the_skin_up():
    body = phantom_body()
    cloth, faces = tube(clearance=0.02, rings=60)
    cone = cloth * (1 + 0.2 * (cloth[:, 1:2] - 0.6)) * np.array([1.0, 0.0, 1.0]) + cloth * np.array([0.0, 1.0, 0.0])
    tapes = tapes_on(body, cone, faces, middle=0.8)
    base, risen = girth_ease(tapes, body.at(body.weights({"tall": 1.0})), cone)["middle"]
    grown = 2 * np.pi * (RADIUS + 0.02) * 0.2 * 0.08  # 10 % of 0.8 m higher up the cone
    assert risen - base == pytest.approx(grown, rel=0.01)


def test_a_level_without_cloth_around_it_has_no_ease():
    body = phantom_body()
    cloth, faces = tube(bottom=0.6, top=1.3)
    assert set(tapes_on(body, cloth, faces, knee=0.4, waist=1.0).base) == {"waist"}


def test_a_level_beside_the_body_is_refused():
    body = phantom_body()
    with pytest.raises(ArgumentError, match=r"levels\['moon'\]` must be between 0.000 and 1.700 m"):
        tapes_on(body, *tube(), moon=2.5)


def test_a_body_without_limbs_has_no_levels_of_its_own():
    vertices, faces = pipe(0.2, 0.5, edge=0.04)
    body = make_body(vertices, faces, none=np.zeros(3))
    feet = np.zeros(len(vertices), dtype=np.int64)
    assert make_tapes(body, 1.1 * vertices, faces, feet).base == {}
