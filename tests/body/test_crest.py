"""The crest of a part of the body: the top of the surface, wherever the vertices of the mesh lie."""

import numpy as np
import pytest

from dressform.body.measure import Measurer
from dressform.body.measure_take import Tape
from phantom import Phantom

SPACING = 0.007


@pytest.mark.parametrize("forward", [1.0, -1.0])
@pytest.mark.parametrize("shift", [-0.003, 0.0, 0.0021])
def test_the_crest_of_a_bump_is_its_top_between_the_vertices(forward: float, shift: float) -> None:
    """A paraboloid is its own quadratic fit, so the height is exact, though no vertex lies on it."""
    body = Phantom().body
    top = 1.2 + shift
    steps = SPACING * np.arange(-6, 7)
    x, y = (axis.ravel() for axis in np.meshgrid(steps, 1.2 + steps))
    vertices = body.vertices.copy()
    part = np.arange(len(vertices)) < len(x)
    vertices[part] = np.stack([x, y, forward * (0.3 - 4.0 * x**2 - 6.0 * (y - top) ** 2 - x * (y - top))], axis=1)
    # The twist moves the top of the fit nowhere; it does move the farthest vertex aside.
    tape = Tape(Measurer(body).landmarks, vertices)
    assert tape.crest(part, forward) == pytest.approx(top, abs=1e-9)


def test_a_part_that_is_a_sharp_point_has_its_crest_there() -> None:
    body = Phantom().body
    vertices = body.vertices.copy()
    part = np.arange(len(vertices)) < 5
    vertices[part] = [[0.0, 1.1, 0.5], [0.05, 1.1, 0.2], [-0.05, 1.1, 0.2], [0.0, 1.15, 0.2], [0.0, 1.05, 0.2]]
    assert Tape(Measurer(body).landmarks, vertices).crest(part, 1.0) == 1.1
