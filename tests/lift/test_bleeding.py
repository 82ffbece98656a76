"""What lies near in space but far along the surface does not move the cloth; along one surface the response decays.

Two closed fingers stand side by side. A kernel in space, wide enough to calm the cloth, carries the motion of one
finger to the other's sleeve; the lift must not.
"""

import itertools

import numpy as np
import pytest
from jaxtyping import Bool, Float

from dressform.body.body import Body
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.lift.lift import make_lift
from lift_phantoms import Mesh, body_of, joined, sphere, tube

RADIUS = 0.02
SMOOTH_WAYS = ("surface", "smooth")


def _finger(centre: float) -> Mesh:
    """A closed body 30 cm long and 4 cm thick: a sphere pulled out along y."""
    vertices, faces = sphere(1.0, rows=60, columns=28)
    return vertices * [RADIUS, 0.15, RADIUS] + [centre, 0.0, 0.0], faces


def _pair(gap: float) -> tuple[Body, Bool[np.ndarray, " B"]]:
    """Two fingers with `gap` between them, metres; which vertices are the right one's."""
    half = RADIUS + gap / 2
    left, right = _finger(-half), _finger(half)
    return body_of(joined(left, right)), np.arange(len(left[0]) + len(right[0])) >= len(left[0])


def _sleeve(gap: float, clearance: float) -> Garment:
    vertices, faces = tube(RADIUS + clearance, 0.1, 0.004, twist=0.05)
    return Garment.of("sleeve", vertices - [RADIUS + gap / 2, 0.0, 0.0], faces)


def _response(body: Body, garment: Garment, method: str, moves: Float[np.ndarray, " B"]) -> Float[np.ndarray, " G"]:
    return make_lift(body, garment, Following(method=method)).displacements((moves[:, None] * [0.0, 0.0, 1.0])[None])[
        0
    ][:, 2]


@pytest.mark.parametrize("method", SMOOTH_WAYS)
@pytest.mark.parametrize(("gap", "clearance"), [(0.012, 0.003), (0.012, 0.009), (0.02, 0.015)])
def test_in_a_narrow_gap_the_cloth_stays_with_its_own_finger(method: str, gap: float, clearance: float) -> None:
    body, right = _pair(gap)
    garment = _sleeve(gap, clearance)
    # Beyond half the gap the closest skin is the other finger's, and one nearest vertex does follow that.
    crosses = np.abs(_response(body, garment, "nearest", right.astype(float))).max()
    assert crosses == (1.0 if clearance > gap / 2 else 0.0)
    assert np.abs(_response(body, garment, method, right.astype(float))).max() < 1e-12
    assert np.abs(_response(body, garment, method, (~right).astype(float)) - 1).max() < 1e-12


def test_two_pieces_of_one_garment_do_not_pull_each_other() -> None:
    gap = 0.012
    body, right = _pair(gap)
    left_sleeve = _sleeve(gap, 0.004)
    right_sleeve = (-left_sleeve.vertices, left_sleeve.faces)
    garment = Garment.of("both", *joined((left_sleeve.vertices, left_sleeve.faces), right_sleeve))
    moved = _response(body, garment, "smooth", right.astype(float))
    assert np.abs(moved - (garment.vertices[:, 0] > 0)).max() < 1e-12


def test_along_one_surface_the_response_fades_with_distance_and_farther_for_looser_cloth() -> None:
    body = body_of(tube(0.1, 0.8, 0.008))
    spot = np.exp(-((body.vertices[:, 1] / 0.01) ** 2))  # a ring pushed out
    reach = []
    for clearance in (0.01, 0.05):
        garment = Garment.of("tube", *tube(0.1 + clearance, 0.6, 0.008, twist=0.03))
        response = _response(body, garment, "smooth", spot)
        heights = np.abs(garment.vertices[:, 1])
        levels = [np.abs(response[(heights >= low) & (heights < low + 0.04)]).max() for low in (0, 0.08, 0.16, 0.24)]
        assert all(later < 0.35 * earlier for earlier, later in itertools.pairwise(levels))
        near = heights < 0.15
        weight = np.maximum(response[near], 0)
        reach.append(np.sqrt((weight * heights[near] ** 2).sum() / weight.sum()))
    assert reach[1] > 1.5 * reach[0]


def test_a_collar_rolled_over_keeps_the_neck_under_it() -> None:
    body = body_of(tube(0.06, 0.6, 0.006))
    sheet, faces = tube(0.068, 0.3, 0.006, twist=0.02)
    flap, flap_faces = tube(0.074, 0.03, 0.006, twist=0.02)
    vertices, triangles = joined((sheet, faces), (flap + np.array([0.0, 0.13, 0.0]), flap_faces[:, ::-1]))
    bridge = np.array([[0, len(sheet), 1]])  # one triangle makes sheet and flap one piece
    lift = make_lift(
        body, Garment.of("collar", vertices, np.concatenate([triangles, bridge])), Following(method="surface")
    )
    assert lift.feet.clearance.max() < 0.015
