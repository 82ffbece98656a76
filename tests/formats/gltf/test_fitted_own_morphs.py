"""Morphs, animations and expressions that a garment came with still work in its fitted file."""

from pathlib import Path

import numpy as np
import pytest

from dressform.formats.gltf.accessors import read_floats
from fitted_files import assert_plays, saved
from gltf_files import cube


def animated(tmp_path: Path, *, interpolation: str, name: str) -> Path:
    """A cube with one morph of its own and an animation of its weight at two times."""
    made = cube(scale=0.1)
    mesh = made.tree["meshes"][0]
    mesh["primitives"][0]["targets"] = [{"POSITION": made.accessor(np.tile([0.0, 0.1, 0.0], (8, 1)))}]
    mesh.update(extras={"targetNames": [name]}, weights=[0.5])
    times = made.accessor([0.0, 1.0], min=[0.0], max=[1.0])
    rows = 6 if interpolation == "CUBICSPLINE" else 2
    values = made.accessor(np.linspace(0, 1, rows))
    sampler = {"input": times, "output": values, "interpolation": interpolation}
    channel = {"sampler": 0, "target": {"node": 0, "path": "weights"}}
    made.tree["animations"] = [{"samplers": [sampler], "channels": [channel]}]
    return made.save(tmp_path / "moving.glb")


@pytest.mark.parametrize("interpolation", ["LINEAR", "CUBICSPLINE"])
def test_own_morphs_stay_in_front_and_their_animation_still_plays(interpolation: str, tmp_path: Path) -> None:
    path = animated(tmp_path, interpolation=interpolation, name="flutter")
    fit, _, document, notes = saved(tmp_path, path)
    assert notes[0] == "The garment's own morphs stay in front of the body's: flutter."
    assert document.json["meshes"][0]["extras"]["targetNames"] == ["flutter", *fit.morph_names]
    assert document.json["meshes"][0]["weights"] == [0.0, 0.0, 0.0]
    animation = document.gltf.animations[0]
    values = read_floats(document, animation.samplers[animation.channels[0].sampler].output, "", ("SCALAR",))
    rows = 6 if interpolation == "CUBICSPLINE" else 2
    expected = np.zeros((rows, 3))
    expected[:, 0] = np.linspace(0, 1, rows)
    np.testing.assert_allclose(values[:, 0], expected.ravel(), atol=1e-7)


def test_expressions_of_an_avatar_still_find_their_mesh_and_target(tmp_path: Path) -> None:
    """A skinned mesh moves to a node of its own; the expression binds by node."""
    made = cube(scale=0.1)
    made.tree["meshes"][0]["primitives"][0]["targets"] = [{"POSITION": made.accessor(np.tile([0.0, 0.1, 0.0], (8, 1)))}]
    made.tree["meshes"][0]["extras"] = {"targetNames": ["smile"]}
    made.tree["nodes"] = [{"name": "hanger", "children": [1], "translation": [0, 0.8, 0]}, {"name": "mask", "mesh": 0}]
    bind = {"node": 1, "index": 0, "weight": 1.0}
    made.tree["extensions"] = {"VRMC_vrm": {"expressions": {"preset": {"happy": {"morphTargetBinds": [bind]}}}}}
    made.tree["extensionsUsed"] = made.tree["extensionsRequired"] = ["VRMC_vrm"]
    _, _, document, _ = saved(tmp_path, made.save(tmp_path / "mask.vrm"))
    told = document.json["extensions"]["VRMC_vrm"]["expressions"]["preset"]["happy"]["morphTargetBinds"][0]
    node = document.json["nodes"][told["node"]]
    assert (node["name"], node["mesh"], "skin" in node) == ("mask", 0, True)
    assert document.json["meshes"][0]["extras"]["targetNames"][told["index"]] == "smile"


def test_own_morph_with_a_name_of_the_bodys_is_replaced_and_said(tmp_path: Path) -> None:
    fit, garment_file, document, notes = saved(tmp_path, animated(tmp_path, interpolation="STEP", name="belly"))
    assert notes == ("The garment's own morphs were replaced by lifted ones: belly.",)
    assert document.json["meshes"][0]["extras"]["targetNames"] == ["belly", "wider"]
    assert_plays(fit, garment_file, document)
