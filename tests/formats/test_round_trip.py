"""What is written comes back; what was read is not touched."""

from pathlib import Path

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_bodies, load_body, load_garment
from dressform.formats.range_file import range_beside, write_range
from realdata import real
from solids import capped_body, open_tube

FLOAT32 = 2e-7


def test_saved_body_comes_back_with_morphs_skin_and_regions(tmp_path: Path) -> None:
    body = capped_body("keeper")
    save_body(body, tmp_path / "body.glb")
    again = load_body(tmp_path / "body.glb").body
    np.testing.assert_allclose(again.vertices, body.vertices, atol=FLOAT32)
    np.testing.assert_array_equal(again.faces, body.faces)
    assert again.morph_names == body.morph_names
    np.testing.assert_allclose(again.deltas, body.deltas, atol=FLOAT32)
    assert again.skeleton is not None
    assert body.skeleton is not None
    assert again.skeleton.names == body.skeleton.names
    np.testing.assert_allclose(again.skeleton.world(), body.skeleton.world(), atol=1e-6)
    assert again.skin is not None
    assert body.skin is not None
    np.testing.assert_allclose(again.skin.dense(2), body.skin.dense(2), atol=1e-6)
    np.testing.assert_array_equal(again.regions["top"], body.regions["top"])


def test_each_scene_is_one_base_body(tmp_path: Path) -> None:
    save_body([capped_body("woman"), capped_body("man", height=1.8)], tmp_path / "body.glb")
    woman, man = load_bodies(tmp_path / "body.glb")
    assert (woman.body.name, man.body.name) == ("woman", "man")
    assert man.body.stature == pytest.approx(1.8, abs=1e-6)
    assert load_body(tmp_path / "body.glb").body.name == "woman"
    assert load_body(tmp_path / "body.glb", base="man").body.stature == man.body.stature


def test_range_beside_the_body_is_found(tmp_path: Path) -> None:
    body = capped_body("keeper")
    declared = Range(body.morph_names, np.array([-0.5, 0.0]), np.array([1.5, 2.0]))
    save_body(body, tmp_path / "body.glb")
    range_beside(tmp_path / "body.glb").write_bytes(write_range(declared))
    again = load_body(tmp_path / "body.glb").body.range
    np.testing.assert_array_equal(again.low, declared.low)
    np.testing.assert_array_equal(again.high, declared.high)


def test_saved_garment_comes_back_with_parts_and_strength(tmp_path: Path) -> None:
    garment = open_tube()
    save_garment(garment, tmp_path / "tube.glb")
    again = load_garment(tmp_path / "tube.glb").garment
    assert again.part_names == garment.part_names
    order = _match(again.vertices, garment.vertices)
    np.testing.assert_allclose(again.vertices, garment.vertices[order], atol=FLOAT32)
    np.testing.assert_allclose(again.strength, garment.strength[order], atol=FLOAT32)
    assert len(again.faces) == len(garment.faces)


def test_uv_seams_split_the_file_but_not_the_cloth(tmp_path: Path) -> None:
    garment = open_tube()
    corner_uv = np.random.default_rng(1).random((*garment.faces.shape, 2))
    save_garment(garment, tmp_path / "tube.glb", uv=corner_uv)
    again = load_garment(tmp_path / "tube.glb")
    assert len(again.stored.vertices) == garment.faces.size
    assert len(again.garment.vertices) == len(garment.vertices)
    np.testing.assert_array_equal(again.garment.vertices[again.file_to_cloth], again.stored.vertices)


@pytest.mark.data
@pytest.mark.parametrize("name", ["loader/human-female.glb", "loader/RiggedSimple.glb"])
def test_real_skinned_body_survives_a_round_trip_and_its_file_is_untouched(name: str, tmp_path: Path) -> None:
    path = real(name)
    before = path.read_bytes()
    body = load_body(path, units="m").body
    save_body(body, tmp_path / "body.glb")
    again = load_body(tmp_path / "body.glb", units="m").body
    np.testing.assert_allclose(again.vertices, body.vertices, atol=1e-6)
    assert again.skeleton is not None
    assert body.skeleton is not None
    assert again.skin is not None
    np.testing.assert_allclose(again.skeleton.positions, body.skeleton.positions, atol=2e-5)
    bound = again.skeleton.world() @ again.skeleton.inverse_bind
    posed = again.skin.pose(again.vertices, bound)
    if "human" in name:  # the other sample stands in a pose of its own
        np.testing.assert_allclose(posed, again.vertices, atol=1e-5)
    assert path.read_bytes() == before


def _match(found: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    distances = np.linalg.norm(found[:, None] - wanted[None], axis=2)
    assert distances.min(axis=1).max() < 1e-6
    return distances.argmin(axis=1)
