"""Layers of the page have the unit that they say, and closed forms where these are known."""

import numpy as np
import pytest

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.rim_step import RigidPatch, RigidPatches
from dressform.faults.severity import Bands
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.report.page.layers import CERTIFIED, CLASSES, SurfaceLayers, body_rigid_patches, page_layers, rim_steps
from phantoms import GIRTH_GAIN, RADIUS
from report_scenes import small_scene

SCENE = small_scene()
BODY = SCENE.body
LOOSE, STIFF = SCENE.fits["loose tube smooth"], SCENE.fits["stiff tube smooth"]
INNER = slice(400, 560)  # vertices of the tube away from its rims


@pytest.fixture(scope="module")
def loose() -> SurfaceLayers:
    certificate = certify(linear_cloth(LOOSE), linear_body(BODY), BODY.range)
    return SurfaceLayers(GarmentOnBody(LOOSE), rigid_patches=body_rigid_patches(BODY), certificate=certificate)


@pytest.fixture(scope="module")
def stiff() -> SurfaceLayers:
    return SurfaceLayers(GarmentOnBody(STIFF))


def test_every_layer_that_has_values_is_described(loose: SurfaceLayers) -> None:
    values = {**loose.constant, **loose.at(np.zeros(3))}
    layers = {layer.name: layer for layer in page_layers()}
    assert set(values) == set(layers)
    counts = {"cloth": len(LOOSE.base), "body": len(BODY.vertices)}
    for name, layer in layers.items():
        assert len(values[name]) == counts[layer.on]
        assert layer.low < layer.high
        assert bool(layer.classes) == (layer.kind == CLASSES)


def test_clearance_of_a_tube_round_a_cylinder_is_the_offset_in_mm(loose: SurfaceLayers) -> None:
    clearance = loose.at(np.zeros(3))["clearance"][INNER]
    # The cylinder is a prism of 48 sides, so its faces lie up to R (1 − cos(π/48)) further in.
    np.testing.assert_allclose(clearance, 20.0, atol=1e3 * RADIUS * (1 - np.cos(np.pi / 48)) + 1e-6)


def test_room_that_a_stiff_tube_loses_is_what_the_body_gains_in_mm(stiff: SurfaceLayers) -> None:
    change = stiff.at(np.array([0.0, 0.05, 0.0]))["clearance_change"][INNER]
    np.testing.assert_allclose(change, -1e3 * RADIUS * GIRTH_GAIN * 0.05, rtol=0.02)


def test_depth_and_skin_that_shows_are_nothing_at_the_base_and_something_under_the_belly(stiff: SurfaceLayers) -> None:
    base, belly = stiff.at(np.zeros(3)), stiff.at(np.array([1.0, 0.0, 0.0]))
    for name in ("depth", "exposed"):
        assert base[name].max() == 0.0
    assert 35.0 < belly["depth"].max() < 41.0  # 60 mm of belly less 20 mm of clearance
    assert belly["exposed"].max() == pytest.approx(100.0)


def test_skin_under_a_tube_is_smaller_by_the_ratio_of_the_radii(loose: SurfaceLayers) -> None:
    np.testing.assert_allclose(loose.constant["feet"][INNER], 100.0 * RADIUS / (RADIUS + 0.02), rtol=0.02)


def test_a_tube_that_keeps_clear_is_certified_and_one_that_does_not_is_not(loose: SurfaceLayers) -> None:
    assert CERTIFIED[int(loose.constant["certified"][INNER].max())] == CERTIFIED[0]
    certificate = certify(linear_cloth(STIFF), linear_body(BODY), BODY.range)
    values = SurfaceLayers(GarmentOnBody(STIFF), certificate=certificate).constant["certified"]
    assert CERTIFIED[int(values.max())] == "only checked"


def test_without_a_certificate_nothing_is_called_certified(stiff: SurfaceLayers) -> None:
    assert "certified" not in stiff.constant


def test_rigid_patches_step_as_far_as_their_morph_is_turned() -> None:
    rigid_patch = RigidPatch(np.array([1, 2]), 1.0, 0.004, 0.01, 1.0, 0.1, 0.1, 0.0)
    other = RigidPatch(np.array([2, 3]), 1.0, 0.010, 0.01, 1.0, 0.1, 0.1, 0.0)
    shifts = (
        RigidPatches((rigid_patch,), 1.0, 1.0, True),
        RigidPatches((other,), 1.0, 1.0, True),
        RigidPatches((rigid_patch,), 1.0, 0.1, False),
    )
    np.testing.assert_allclose(rim_steps(shifts, np.array([-0.5, 0.3, 1.0]), 5), [0.0, 0.002, 0.003, 0.003, 0.0])


def test_scales_end_where_a_fault_is_grave() -> None:
    layers = {
        layer.name: layer
        for layer in page_layers(bands=Bands(depth=(0.001, 0.002, 0.004), clearance=(0.001, 0.01, 0.02)))
    }
    assert layers["depth"].high == pytest.approx(4.0)
    assert (layers["clearance_change"].low, layers["clearance_change"].high) == (
        pytest.approx(-20.0),
        pytest.approx(20.0),
    )
