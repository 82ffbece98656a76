"""The resolution index belongs to a triangle, whatever its number."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.repair.resolution import measure_resolution
from phantoms import RADIUS, phantom_body


def test_skin_between_the_feet_of_a_triangle_counts_whichever_number_the_triangle_has() -> None:
    """A narrow bump under each of two triangles, between the points whose feet are taken anyway."""
    body = phantom_body(rings=120, sides=160)
    z = float(body.vertices[:, 2].max()) + 0.03
    corners = np.array([[-0.06, 0.88, z], [0.06, 0.88, z], [0.06, 1.0, z], [-0.06, 1.0, z]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    centres = corners[faces].mean(axis=1)
    # Half-way between the centre of a triangle and the middle of its longest side.
    spots = (centres + (corners[0] + corners[2]) / 2) / 2
    front = body.vertices[:, 2] > 0
    bumps = sum(
        0.004 * np.exp(-(np.linalg.norm((body.vertices - spot)[:, :2], axis=1) ** 2) / 0.005**2) * front
        for spot in spots
    )
    bumpy = replace(body, vertices=body.vertices + bumps[:, None] * np.array([0.0, 0.0, 1.0]))
    found = []
    for order in ([0, 1], [1, 0]):
        garment = Garment.of("pane", corners, faces[order])
        measured = measure_resolution(make_fit(bumpy, garment, Following(margin_mm=1.0)), shapes=[])
        found.append(measured.curvature[order])
    assert found[0] == pytest.approx(found[1], rel=1e-12)
    assert found[0].min() > 1.5 / RADIUS
