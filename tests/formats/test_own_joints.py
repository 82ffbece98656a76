"""Joint weights of a garment's file: read at its welded vertices, kept by the fit, written and read back."""

from dataclasses import replace
from pathlib import Path

import numpy as np

import dressform as df
from bent_limb import limb, sleeve, weights_of
from dressform.fit.joint_weights import keeps_own
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import body_file_of, garment_file_of, load_garment
from dressform.jobs.load import load_fit
from gltf_files import cube


def files(folder: Path) -> tuple[Path, Path]:
    """A limb, and a sleeve whose file has weights on a shorter ramp than the limb's."""
    fit = sleeve(limb(rings=13, sides=12), rings=9, sides=12)
    save_body([fit.body], folder / "limb.glb")
    save_garment(fit.garment, folder / "plain.glb")
    body = df.load_body(folder / "limb.glb")
    made = df.fit(body, df.load_garment(folder / "plain.glb", beside=body))
    skin = weights_of(made.base[:, 1], ramp=0.05)
    path = folder / "sleeve.glb"
    save_fit(replace(made, skin=skin), garment_file_of(made.garment), body_file_of(body), path)
    return folder / "limb.glb", path


def test_own_weights_are_kept_written_and_read_back(tmp_path: Path) -> None:
    body_path, path = files(tmp_path)
    body = df.load_body(body_path)
    fit = df.fit(body, df.load_garment(path, beside=body))
    want = weights_of(fit.base[:, 1], ramp=0.05).dense(2)
    assert keeps_own(fit)
    assert fit.skin is not None
    assert np.abs(fit.skin.dense(2) - want).max() < 1e-6
    notes = df.save(fit, tmp_path / "again.glb")
    assert not any("replaced" in note and "joint weights" in note for note in notes)
    back = load_fit(tmp_path / "again.glb", body)
    assert back.skin is not None
    assert np.abs(back.skin.dense(2) - want).max() < 1e-6
    assert np.abs(back.base - fit.base).max() < 1e-6  # the rest pose


def test_weights_that_are_replaced_are_said_to_be(tmp_path: Path) -> None:
    body_path, path = files(tmp_path)
    body = df.load_body(body_path)
    fit = df.fit(body, df.load_garment(path, beside=body), df.Following(joint_weights="lifted"))
    assert "The garment's own joint weights were replaced by the body's." in df.save(fit, tmp_path / "again.glb")


def test_mesh_below_a_named_node_hangs_on_it(tmp_path: Path) -> None:
    made = cube(scale=0.2)
    made.tree["nodes"] = [
        {"name": "upper", "children": [1]},
        {"name": "lower", "children": [2]},
        {"mesh": 0, "name": "lantern"},
    ]
    own = load_garment(made.save(tmp_path / "lantern.glb")).garment.own_joints
    assert own is not None
    assert own.hangs
    assert {own.names[joint] for joint in np.unique(own.joints[own.weights > 0])} == {"lower"}


def test_mesh_below_no_node_has_no_joints(tmp_path: Path) -> None:
    assert load_garment(cube(scale=0.2).save(tmp_path / "box.glb")).garment.own_joints is None


def test_unskinned_mesh_of_a_skinned_file_follows_no_joint(tmp_path: Path) -> None:
    made = cube(scale=0.2)
    primitive = made.tree["meshes"][0]["primitives"][0]
    skinned = {**primitive, "attributes": dict(primitive["attributes"])}
    skinned["attributes"]["JOINTS_0"] = made.accessor(np.zeros((8, 4)), "u1")
    skinned["attributes"]["WEIGHTS_0"] = made.accessor(np.tile([1.0, 0, 0, 0], (8, 1)))
    made.tree["meshes"].append({"primitives": [skinned]})
    made.tree["nodes"] = [{"mesh": 0, "name": "loose"}, {"mesh": 1, "skin": 0, "name": "worn"}, {"name": "lower"}]
    made.tree["nodes"][1]["translation"] = [0, 0, 0]
    made.tree["skins"] = [{"joints": [2]}]
    made.tree["scenes"] = [{"nodes": [0, 1, 2]}]
    made.tree["nodes"][0]["translation"] = [1.0, 0, 0]
    garment = load_garment(made.save(tmp_path / "two.glb")).garment
    assert garment.own_joints is not None
    sums = garment.own_joints.weights.sum(axis=1)
    assert np.array_equal(sums == 0, garment.vertices[:, 0] > 0.5)
