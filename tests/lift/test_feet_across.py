"""Which finger a sleeve stands on where it reaches across the gap to another: its own, if that is near enough."""

import numpy as np
import pytest

from dressform.lift.feet import find_feet
from dressform.mesh.tree import Tree
from lift_phantoms import Mesh, joined, sphere, tube

RADIUS, LENGTH = 0.02, 0.15


def feet_clearance(*, gap: float, clearance: float, turned: bool = False) -> float:
    """Clearance of the sleeve's vertex that comes nearest to the other finger."""
    vertices, faces = sphere(1.0, rows=60, columns=60)
    finger = vertices * [RADIUS, LENGTH, RADIUS]
    aside = np.array([RADIUS + gap / 2, 0.0, 0.0])
    skin: Mesh = joined((finger - aside, faces), (finger + aside, faces))
    sleeve, triangles = tube(RADIUS + clearance, 0.04, 0.004)
    sleeve = sleeve - aside
    feet = find_feet(Tree(*skin), sleeve, triangles[:, ::-1].copy() if turned else triangles)
    level = np.abs(sleeve[:, 1]).min()
    nearest = np.lexsort((-sleeve[:, 0], np.abs(np.abs(sleeve[:, 1]) - level).round(6)))[0]
    return float(feet.clearance[nearest])


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(("gap", "clearance"), [(0.012, 0.009), (0.031, 0.021), (0.05, 0.032)])
def test_a_foot_up_to_half_farther_and_a_centimetre_is_its_own_finger_s(
    gap: float, clearance: float, turned: bool
) -> None:
    assert gap - clearance < clearance < 1.5 * (gap - clearance) + 0.01
    assert feet_clearance(gap=gap, clearance=clearance, turned=turned) == pytest.approx(clearance, abs=1e-3)


@pytest.mark.parametrize(("gap", "clearance"), [(0.031, 0.025), (0.05, 0.042)])
def test_a_foot_that_is_farther_still_is_the_closest_finger_s(gap: float, clearance: float) -> None:
    assert clearance > 1.5 * (gap - clearance) + 0.01
    assert feet_clearance(gap=gap, clearance=clearance) == pytest.approx(gap - clearance, abs=1e-3)
