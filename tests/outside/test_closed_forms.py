"""From a body and a garment to a fault's figure, through what users call, against closed forms.

Each part has its own tests elsewhere; here lift, fit, check and tape measure stand in one row.
"""

import numpy as np
import pytest
from scipy.special import ellipe

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from meshes import sphere, tube
from phantoms import GIRTH_GAIN, RADIUS, TALL_GAIN, phantom_body, phantom_tube

MIDDLE = {"middle": 0.95}
BALL, GAIN = 0.2, 0.25
SIDES = 240
UP = np.array([0.0, 1.0, 0.0])


def base_and(body: Body, garment: Garment, levels: dict[str, float], **shape: float) -> tuple[ShapeFaults, ShapeFaults]:
    check = GarmentOnBody(make_fit(body, garment), levels=levels)
    return check.measure(body.weights({})), check.measure(body.weights(shape))


def ball(level: int = 5) -> Body:
    """A ball on the ground that one morph makes a quarter larger about its middle."""
    vertices, faces = sphere(level, radius=BALL)
    return Body("ball", vertices + BALL * UP, faces, ("grow",), GAIN * vertices[None], Range.unit(("grow",)))


def shell(clearance: float, level: int = 4) -> Garment:
    vertices, faces = sphere(level, radius=BALL + clearance)
    return Garment.of("shell", vertices + BALL * UP, faces)


@pytest.mark.parametrize("clearance", [0.004, 0.02])
def test_a_sleeve_around_a_growing_cylinder_keeps_the_ease_of_two_pi_c(clearance: float) -> None:
    """Steiner: an outline offset by c is longer by 2 pi c, whatever its size [Steiner1840]."""
    body, garment = phantom_body(sides=SIDES), phantom_tube(clearance=clearance, sides=SIDES)
    at_base, grown = base_and(body, garment, MIDDLE, girth=1.0)
    assert at_base.girth_ease["middle"][0] == pytest.approx(2 * np.pi * clearance, rel=1e-3)
    assert grown.girth_ease["middle"][1] == pytest.approx(2 * np.pi * clearance, abs=2e-4)
    assert grown.show_through.exposed_area == grown.show_through.inside_share == 0.0


@pytest.mark.parametrize("clearance", [0.01, 0.03])
def test_a_shell_around_a_growing_ball_keeps_or_scales_its_ease_as_asked(clearance: float) -> None:
    body, garment = ball(), shell(clearance, level=5)
    eases = {}
    for ease in ("keep", "scale"):
        check = GarmentOnBody(make_fit(body, garment, Following(ease=ease)), levels={"middle": BALL + 0.003})
        eases[ease] = check.measure(np.ones(1)).girth_ease["middle"]
    assert eases["keep"][0] == pytest.approx(2 * np.pi * clearance, rel=0.01)
    assert eases["keep"][1] == pytest.approx(2 * np.pi * clearance, rel=0.02)
    assert eases["scale"][1] == pytest.approx(2 * np.pi * clearance * (1 + GAIN), rel=0.02)


def test_ease_of_one_ellipse_in_another_is_the_difference_of_their_perimeters() -> None:
    """Perimeter 4 a E(1 - b²/a²), the complete elliptic integral by SciPy."""

    def perimeter(a: float, b: float) -> float:
        return float(4 * a * ellipe(1 - (b / a) ** 2))

    trunk, faces = tube((0.18, 0.11), 1.0, around=480, rows=40)
    caps = [_cap(trunk, faces, row) for row in (0, 40)]
    body_vertices = np.vstack([trunk, [[0, 0, 0], [0, 1, 0]]])
    body_faces = np.vstack([faces, *caps])
    broad = 0.2 * body_vertices * [1.0, 0.0, 0.0]
    body = Body("ellipse", body_vertices, body_faces, ("broad",), broad[None], Range.unit(("broad",)))
    cloth, cloth_faces = tube((0.21, 0.13), 0.5, around=360, rows=20)
    garment = Garment.of("ring", cloth + 0.25 * UP, cloth_faces)
    found = base_and(body, garment, {"middle": 0.51}, broad=0.0)[0].girth_ease["middle"][0]
    assert found == pytest.approx(perimeter(0.21, 0.13) - perimeter(0.18, 0.11), rel=1e-3)


def _cap(vertices: np.ndarray, faces: np.ndarray, row: int) -> np.ndarray:
    """A fan that closes one end of a tube of 480 sides; its middle vertex comes after the tube's."""
    around = row * 480 + np.arange(480)
    after = row * 480 + (np.arange(480) + 1) % 480
    middle = np.full(480, len(vertices) + (row > 0))
    return np.stack([middle, after, around] if row == 0 else [middle, around, after], axis=1)


def test_a_sleeve_on_a_body_that_grows_taller_has_sanders_stretch() -> None:
    """Principal stretches 1.1 and 1: L² is the root of (1.1² + 1) / 2, L∞ is 1.1, Green strain (1.1² - 1) / 2."""
    body, garment = phantom_body(sides=SIDES), phantom_tube(sides=SIDES)
    check = GarmentOnBody(make_fit(body, garment, Following(method="surface")), levels={})
    found = check.measure(body.weights({"tall": 1.0})).stretch
    longer = 1 + TALL_GAIN
    assert found.l2 == pytest.approx(np.sqrt((longer**2 + 1) / 2), rel=1e-6)
    assert found.linf == pytest.approx(longer, rel=1e-6)
    assert found.log_p99 == pytest.approx(np.log(longer), rel=1e-6)
    assert found.green_p99 == pytest.approx((longer**2 - 1) / 2, rel=1e-6)
    assert found.dirichlet == pytest.approx(longer**2 + longer**-2 + 2, rel=1e-6)
    assert found.relative_p99 < 0.005


def test_a_shell_that_scales_with_its_ball_has_sanders_stretch_of_the_scale() -> None:
    body = ball()
    check = GarmentOnBody(make_fit(body, shell(0.02), Following(ease="scale")), levels={})
    found = check.measure(np.ones(1))
    assert found.stretch.l2 == pytest.approx(1 + GAIN, rel=1e-6)
    assert found.stretch.linf == pytest.approx(1 + GAIN, rel=1e-6)
    assert found.stretch.dirichlet == pytest.approx(2 * ((1 + GAIN) ** 2 + (1 + GAIN) ** -2), rel=1e-6)
    assert found.pucker.max < 1e-9


def test_cloth_that_is_nearly_still_shows_the_depth_of_the_growth_it_misses() -> None:
    """A tube on a cylinder that grows by a quarter of its radius, followed to one tenth."""
    body, garment = phantom_body(sides=SIDES), phantom_tube(clearance=0.01, sides=SIDES)
    fit = make_fit(body, Garment(
        garment.name, garment.vertices, garment.faces, garment.part_names, garment.face_parts,
        np.full(len(garment.vertices), 0.1),
    ))  # fmt: skip
    found = GarmentOnBody(fit, levels={}).measure(body.weights({"girth": 1.0}))
    assert found.show_through.depth_max == pytest.approx(0.9 * GIRTH_GAIN * RADIUS - 0.01, rel=0.01)
    assert found.show_through.inside_share == pytest.approx(1.0)
    assert found.clearance_change.p50 == pytest.approx(-0.9 * GIRTH_GAIN * RADIUS, rel=0.01)
