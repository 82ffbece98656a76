"""What the report stores coarsely stays within its bounds, at every shape."""

import base64
import zlib

import numpy as np
import pytest

from dressform.arrays import Points
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.report.html.packs import (
    LAYER_ERROR,
    POSITION_ERROR,
    body_pack,
    cloth_pack,
    coarse_layer,
    coarse_mesh,
    inlined,
    layers_pack,
    position_error,
)
from dressform.report.page.layers import page_layers
from dressform.report.page.pack import Coarse, Pack, read_pack
from report_scenes import large_scene, small_scene

SCENE = small_scene()
LAYERS = {layer.name: layer for layer in page_layers()}
COUNT = 400


def shape_of(pack: Pack, weights: np.ndarray) -> Points:
    """Vertices as a page blends them: float32, one morph after the other."""
    base = pack.arrays["base"]
    assert isinstance(base, Coarse)
    points = base.real.astype(np.float32)
    for morph, weight in enumerate(weights.astype(np.float32)):
        delta = pack.arrays.get(f"delta/{morph}")
        if isinstance(delta, Coarse):
            points = points + weight * delta.stored.astype(np.float32) * np.float32(delta.scale)
    return points.astype(np.float64)


def farthest(first: Points, second: Points) -> float:
    return float(np.linalg.norm(first - second, axis=1).max())


@pytest.mark.parametrize("seed", range(20))
def test_a_vertex_is_nowhere_off_by_a_tenth_of_a_millimetre(seed: int) -> None:
    body = SCENE.body
    random = np.random.default_rng(seed)
    weights = body.range.low + body.range.widths * random.choice([0.0, 1.0, random.random()], 3)
    assert farthest(shape_of(read_pack(body_pack(body)), weights), body.at(weights)) < POSITION_ERROR
    for key, fit in SCENE.fits.items():
        pack = read_pack(cloth_pack(body, fit, key, np.zeros((len(fit.base), 3), dtype=np.uint8)))
        assert farthest(shape_of(pack, weights), fit.at(weights)) < POSITION_ERROR


def test_twelve_morphs_of_a_large_body_keep_the_bound_at_corners_of_a_wide_range() -> None:
    body = large_scene().body
    wide = Range(body.morph_names, np.full(12, -1.5), np.full(12, 2.0))
    few = Body("few", body.vertices[:COUNT], body.faces[:1] % COUNT, body.morph_names, body.deltas[:, :COUNT], wide)
    pack = read_pack(body_pack(few))
    random = np.random.default_rng(3)
    for _ in range(50):
        weights = random.choice([-1.5, 2.0], 12)
        assert farthest(shape_of(pack, weights), few.at(weights)) < POSITION_ERROR


@pytest.mark.parametrize("size", [0.01, 1.7, 40.0])
def test_the_stated_error_bounds_what_is_stored(size: float) -> None:
    random = np.random.default_rng(11)
    base, deltas = size * random.normal(size=(60, 3)), size * random.normal(size=(4, 60, 3))
    deltas[2] = 0.0
    box = Range(tuple("abcd"), np.array([-1.0, 0.0, 0.0, -0.2]), np.array([0.5, 1.0, 1.0, 3.0]))
    kept, stored = coarse_mesh(base, deltas, box)
    assert sorted(stored) == [0, 1, 3]
    bound = position_error(kept, stored, box)
    assert bound < POSITION_ERROR
    for weights in np.array(np.meshgrid(*zip(box.low, box.high))).reshape(4, -1).T:
        exact = base + np.tensordot(weights, deltas, axes=1)
        rounded = kept.stored * kept.scale + kept.offset
        for morph, coarse in stored.items():
            rounded = rounded + weights[morph] * coarse.stored * coarse.scale
        assert farthest(exact, rounded) <= bound


def test_what_a_morph_does_not_move_stays_exactly() -> None:
    body = SCENE.body
    belly = read_pack(body_pack(body)).arrays["delta/0"]
    assert isinstance(belly, Coarse)
    assert belly.offset == 0.0
    still = np.abs(body.deltas[0]).max(axis=1) < belly.scale / 4
    assert still.any()
    assert not belly.stored[still].any()


def test_a_morph_that_moves_nothing_is_left_out() -> None:
    fit = SCENE.fits["stiff tube smooth"]
    pack = read_pack(cloth_pack(SCENE.body, fit, "stiff", np.zeros((len(fit.base), 3), dtype=np.uint8)))
    assert not any(name.startswith("delta/") for name in pack.arrays)
    assert pack.header["morphs"] == list(SCENE.body.morph_names)


def test_triangles_come_back_and_small_meshes_take_two_bytes_an_index() -> None:
    pack = read_pack(body_pack(SCENE.body))
    np.testing.assert_array_equal(pack.arrays["faces"], SCENE.body.faces)
    assert pack.arrays["faces"].dtype.itemsize == 2


def test_the_skin_under_a_vertex_is_where_its_three_corners_say() -> None:
    body, fit = SCENE.body, SCENE.fits["loose tube smooth"]
    pack = read_pack(cloth_pack(body, fit, "loose", np.zeros((len(fit.base), 3), dtype=np.uint8)))
    corners, shares = pack.arrays["corners"], pack.arrays["shares"]
    assert isinstance(shares, Coarse)
    assert set(shares.stored.sum(axis=1, dtype=int)) == {255}
    feet = np.einsum("gc,gcx->gx", shares.real, body.vertices[corners])
    distance = np.linalg.norm(feet - fit.base, axis=1)
    np.testing.assert_allclose(distance[400:560], 0.02, atol=5e-4)


def test_regions_of_a_body_are_told_by_name() -> None:
    plain = SCENE.body
    upper = plain.vertices[:, 1] > 0.8
    body = Body(
        plain.name,
        plain.vertices,
        plain.faces,
        plain.morph_names,
        plain.deltas,
        plain.range,
        regions={"upper": upper, "lower": ~upper},
    )
    pack = read_pack(body_pack(body))
    names = np.array(pack.header["regions"])[pack.arrays["region"]]
    np.testing.assert_array_equal(names == "upper", upper)
    assert "region" not in read_pack(body_pack(plain)).arrays


@pytest.mark.parametrize("top", [3.0, 9.9, 400.0])
def test_a_layer_is_off_by_no_more_than_its_share_of_the_scale_and_zero_is_zero(top: float) -> None:
    layer = LAYERS["depth"]
    values = np.concatenate([np.zeros(5), np.random.default_rng(2).uniform(0, top, 300)])
    coarse = coarse_layer(values, layer)
    assert isinstance(coarse, Coarse)
    assert np.abs(coarse.real - values).max() <= LAYER_ERROR * (layer.high - layer.low)
    assert not coarse.real[:5].any()
    assert coarse.stored.dtype.itemsize == (1 if top < 20 else 2)


def test_a_layer_with_both_signs_keeps_zero() -> None:
    values = np.array([-7.3, 0.0, 0.0, 22.1, -0.002])
    coarse = coarse_layer(values, LAYERS["clearance_change"])
    assert isinstance(coarse, Coarse)
    assert not coarse.real[1:3].any()
    np.testing.assert_allclose(coarse.real, values, atol=LAYER_ERROR * 60)


def test_a_layer_of_nothing_is_all_zero() -> None:
    coarse = coarse_layer(np.zeros(4), LAYERS["depth"])
    assert isinstance(coarse, Coarse)
    assert not coarse.real.any()


def test_classes_are_kept_as_they_are() -> None:
    values = np.array([0, 2, 1, 1])
    pack = read_pack(layers_pack("guernsey smooth", None, {"certified": values}, list(LAYERS.values())))
    np.testing.assert_array_equal(pack.arrays["layer/certified"], values)
    assert pack.header == {"kind": "layers", "garment": "guernsey smooth", "shape": None}


def test_an_inlined_pack_is_base64_of_raw_deflate() -> None:
    pack = body_pack(SCENE.body)
    text = inlined(pack)
    assert zlib.decompress(base64.b64decode(text, validate=True), -15) == pack
    assert len(text) < len(pack)
