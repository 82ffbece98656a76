"""The four ways on a cylinder with a smooth bump of 5 cm: what following by one nearest vertex does to cloth.

Common practice knows that one nearest vertex tears more than three, and a finer garment no less than a coarse one.
"""

import numpy as np
import pytest
from jaxtyping import Float

from dressform.faults.pucker import pucker_index, pucker_windows
from dressform.garment.following import METHODS, Following
from dressform.garment.garment import Garment
from dressform.lift.lift import make_lift
from lift_phantoms import body_of, tube

RADIUS = 0.1


def _bump(points: Float[np.ndarray, "V 3"]) -> Float[np.ndarray, "V 3"]:
    along = np.hypot(RADIUS * np.arctan2(points[:, 0], points[:, 2]), points[:, 1])
    outward = points * [1.0, 0.0, 1.0]
    outward /= np.linalg.norm(outward, axis=1, keepdims=True)
    return 0.05 * np.exp(-((along / 0.08) ** 2))[:, None] * outward


@pytest.fixture(scope="module")
def puckers() -> dict[tuple[str, float], float]:
    vertices, faces = tube(RADIUS, 0.6, 0.025, jitter=0.25)
    body = body_of((vertices, faces), bump=_bump(vertices))
    found = {}
    for edge in (0.01, 0.005):
        cloth = tube(RADIUS + 0.005, 0.4, edge, jitter=0.25, seed=3, twist=0.1)
        windows = pucker_windows(*cloth)
        stations = cloth[0][windows.stations]
        on_bump = (stations[:, 2] > 0) & (np.abs(stations[:, 1]) < 0.15)
        for method in METHODS:
            moved = (
                cloth[0]
                + make_lift(body, Garment.of("tube", *cloth), Following(method=method)).displacements(body.deltas)[0]
            )
            found[method, edge] = float(np.percentile(pucker_index(windows, moved)[on_bump], 95))
        found["bump itself", edge] = float(
            np.percentile(pucker_index(windows, cloth[0] + _bump(cloth[0]))[on_bump], 95)
        )
    return found


def test_one_nearest_vertex_tears_at_least_twice_as_much_as_three(puckers: dict[tuple[str, float], float]) -> None:
    for edge in (0.01, 0.005):
        assert puckers["nearest", edge] > 2 * puckers["nearest-three", edge]
        assert puckers["nearest-three", edge] > 2 * puckers["surface", edge]
        assert puckers["surface", edge] > 4 * puckers["smooth", edge]


def test_a_finer_garment_tears_no_less(puckers: dict[tuple[str, float], float]) -> None:
    assert puckers["nearest", 0.005] > 0.9 * puckers["nearest", 0.01]
    assert 0.08 < puckers["nearest", 0.005] < 0.14  # prototypes on such a cylinder: 0.093 to 0.101


def test_the_smooth_lift_puckers_no_more_than_the_bump_itself(puckers: dict[tuple[str, float], float]) -> None:
    for edge in (0.01, 0.005):
        assert puckers["smooth", edge] < puckers["bump itself", edge] < 0.005
