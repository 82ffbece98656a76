"""Along which direction a pair is bounded, and along which morph its range is halved: as tight as geometry allows."""

import itertools

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from dressform.body.range import Range
from dressform.proof.bound_kernels import costliest, unit_normal_of, worst_corner
from dressform.proof.certificate import bounds_of
from dressform.proof.linear_mesh import LinearMesh, linear_mesh

PAIR, SIDES = np.array([[0, 0]]), np.array([[0, 1, 2]])
HEIGHT = 0.02
SEEDS = range(12)

FLAT = np.array([[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], [0.0, 0.0, 0.1]])
TILTED = np.array([[0.0, -HEIGHT, 0.0], [0.01, -0.09, 0.07], [0.08, -0.06, 0.01]])
"""Its highest corner lies `HEIGHT` under the plane of `FLAT`; no side of it is level, and its outward side is up."""


def placed(seed: int) -> Rotation:
    return Rotation.random(random_state=seed)


def moving(corners: np.ndarray, moves: np.ndarray, turn: Rotation) -> LinearMesh:
    """One triangle that every morph shifts as a whole, turned about the origin, (3, 3) and (K, 3)."""
    deltas = np.tile(turn.apply(moves)[:, None], (1, 3, 1))
    return linear_mesh(turn.apply(corners), deltas, SIDES)


def bound(cloth: LinearMesh, body: LinearMesh, low: float, high: float) -> float:
    box = Range(("slide",), np.array([low]), np.array([high]))
    return float(bounds_of(cloth, body, PAIR, box)[0][0])


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("flipped", [False, True])
def test_a_body_that_slides_under_flat_cloth_stays_as_far_under_its_plane(seed: int, flipped: bool) -> None:
    """Only the cloth's own normal is at right angles to the slide, so along any other direction the bound is less."""
    turn, slide = placed(seed), np.array([[0.3, 0.0, 0.2]])
    cloth = moving(FLAT[::-1] if flipped else FLAT, 0 * slide, turn)
    body = moving(TILTED + np.array([0.05, 0.0, -0.03]), slide, turn)
    assert bound(cloth, body, -1.0, 1.0) == pytest.approx(HEIGHT, abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("flipped", [False, True])
def test_cloth_that_slides_over_flat_skin_stays_as_far_over_its_plane(seed: int, flipped: bool) -> None:
    turn, slide = placed(seed), np.array([[0.3, 0.0, 0.2]])
    # Skin with its corners in this order faces -Y: that is the side on which cloth lies over it.
    body = moving(FLAT, 0 * slide, turn)
    cloth = moving((TILTED + np.array([0.05, 0.0, -0.03]))[:: -1 if flipped else 1], slide, turn)
    assert bound(cloth, body, -1.0, 1.0) == pytest.approx(HEIGHT, abs=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_normal_is_at_right_angles_to_every_side_wherever_the_triangle_lies(seed: int) -> None:
    corners, normal = np.random.default_rng(seed).normal(size=(3, 3)) + 5.0, np.zeros(3)
    unit_normal_of(corners, normal)
    assert np.linalg.norm(normal) == pytest.approx(1.0, abs=1e-12)
    assert np.abs((np.roll(corners, 1, axis=0) - corners) @ normal).max() < 1e-12
    assert np.linalg.det([corners[1] - corners[0], corners[2] - corners[0], normal]) > 0


def test_a_triangle_without_area_has_no_normal() -> None:
    normal = np.ones(3)
    unit_normal_of(np.outer([0.0, 1.0, 2.0], [1.0, 2.0, 3.0]), normal)
    assert normal.tolist() == [0.0, 0.0, 0.0]


def random_case(seed: int) -> tuple[LinearMesh, LinearMesh, np.ndarray, np.ndarray, np.ndarray]:
    """Two triangles that four morphs deform, a direction, and a piece of the range that leaves out the base."""
    rng = np.random.default_rng(seed)
    cloth, body = (linear_mesh(rng.normal(size=(3, 3)), rng.normal(size=(4, 3, 3)), SIDES) for _ in range(2))
    low = rng.uniform(-1.0, 1.0, 4)
    direction = rng.normal(size=3)
    return cloth, body, direction / np.linalg.norm(direction), low, low + rng.uniform(0.01, 1.0, 4)


def along(mesh: LinearMesh, direction: np.ndarray, weights: np.ndarray) -> np.ndarray:
    return mesh.at(weights) @ direction


@pytest.mark.parametrize("seed", range(30))
def test_the_worst_corner_of_a_piece_is_the_lowest_of_all_its_corners(seed: int) -> None:
    cloth, body, n, low, high = random_case(seed)
    corner, work = np.zeros(4), np.zeros((2, 3, 5))
    worst_corner(cloth.terms, body.terms, SIDES[0], SIDES[0], n, low, high, work[0], work[1], corner)
    gaps = {
        each: float((along(cloth, n, np.array(each))[:, None] - along(body, n, np.array(each))).min())
        for each in itertools.product(*zip(low.tolist(), high.tolist()))
    }
    assert tuple(corner.tolist()) == min(gaps, key=lambda each: gaps[each])


@pytest.mark.parametrize("seed", range(30))
def test_the_costliest_morph_moves_two_corners_most_between_the_ends_of_its_own_interval(seed: int) -> None:
    cloth, body, n, low, high = random_case(seed)
    work = np.zeros((2, 3, 5))
    found = costliest(cloth.terms, body.terms, SIDES[0], SIDES[0], n, low, high, work[0], work[1])
    costs = []
    for morph in range(4):
        ends = [np.where(np.arange(4) == morph, end, low) for end in (low, high)]
        first, last = (along(cloth, n, end)[:, None] - along(body, n, end) for end in ends)
        costs.append(float(np.abs(last - first).max()))
    assert found == int(np.argmax(costs))
