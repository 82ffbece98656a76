"""How deep skin lies in a hollow, against the formula written out over all pairs."""

import numpy as np
import pytest

from dressform.infer.kernels import hollow_depths

REACH, BALL, FACING = 0.5, 0.4, 0.2


def directions(rng: np.random.Generator, count: int) -> np.ndarray:
    found = rng.normal(size=(count, 3))
    return found / np.linalg.norm(found, axis=1, keepdims=True)


@pytest.mark.parametrize("seed", range(10))
def test_a_ball_is_entered_by_the_skin_within_reach_that_faces_as_the_foot_does(seed: int) -> None:
    rng = np.random.default_rng(seed)
    feet, skin = rng.uniform(-0.3, 0.3, (20, 3)), rng.uniform(-0.3, 0.3, (40, 3))
    normals, skin_normals = directions(rng, 20), directions(rng, 40)
    away = skin[None] - feet[:, None]
    squares = (away**2).sum(axis=2)
    entered = np.einsum("fsx,fx->fs", away, normals) - squares / (2 * BALL)
    counts = (squares < REACH**2) & (normals @ skin_normals.T > FACING)
    expected = np.where(counts, entered, 0.0).max(axis=1, initial=0.0)
    found = hollow_depths(feet, normals, skin, skin_normals, REACH, BALL, FACING)
    assert (expected > 0).any()
    np.testing.assert_allclose(found, expected, atol=1e-12)
