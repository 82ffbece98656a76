"""Which cloth covers skin: up to 15 cm off along the normal, and up to 1 cm under the skin."""

import numpy as np
import pytest

from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.sweep.worst import covered_points
from lift_phantoms import Mesh, body_of, sphere

RADIUS = 0.2


def covered_share(cloth: Mesh) -> float:
    """Share of the vertices of a ball that cloth covers."""
    body = body_of(sphere(RADIUS, rows=40, columns=60))
    vertices, faces = cloth
    pairs = covered_points(
        Fit(body, Garment.of("shell", vertices, faces), DEFAULT_FOLLOWING, vertices, np.zeros((0, *vertices.shape)))
    )
    return len(pairs.areas) / len(body.vertices)


@pytest.mark.parametrize(("clearance", "share"), [(0.14, 1.0), (0.16, 0.0), (-0.007, 1.0), (-0.013, 0.0)])
def test_cloth_covers_skin_up_to_15_cm_off_and_up_to_1_cm_under_it(clearance: float, share: float) -> None:
    assert covered_share(sphere(RADIUS + clearance, rows=44, columns=66)) == share


def test_cloth_of_one_triangle_covers_the_skin_under_it() -> None:
    """The first triangle of a mesh counts like every other."""
    corners = np.array([[-0.1, RADIUS + 0.02, -0.1], [0.0, RADIUS + 0.02, 0.1], [0.1, RADIUS + 0.02, -0.1]])
    assert 0.01 < covered_share((corners, np.array([[0, 1, 2]]))) < 0.1
