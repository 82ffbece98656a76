"""How strongly a vertex follows is the share of the body's move that it takes."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.garment.following import METHODS, Following
from dressform.garment.garment import Garment
from dressform.lift.lift import make_lift
from lift_phantoms import body_of, tube


@pytest.mark.parametrize("method", METHODS)
def test_a_vertex_of_strength_s_moves_by_the_share_s_of_what_it_would(method: str) -> None:
    body = body_of(tube(0.12, 0.4, 0.03))
    garment = Garment.of("sleeve", *tube(0.14, 0.3, 0.03, twist=0.1))
    strength = np.linspace(0.0, 1.0, len(garment.vertices))
    delta = np.sin(9 * body.vertices[:, [1, 2, 0]])[None]
    full = make_lift(body, garment, Following(method=method)).displacements(delta)
    part = make_lift(body, replace(garment, strength=strength), Following(method=method)).displacements(delta)
    assert np.abs(full).max() > 0.1
    assert np.allclose(part, strength[:, None] * full, atol=1e-14)
