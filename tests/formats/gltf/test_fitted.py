"""A fitted GLB: everything the garment came with, plus morphs, normals and joints that play as computed."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import Document, read_document
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.materials import Material
from dressform.formats.gltf.save import save_garment
from dressform.formats.load import load_garment
from fitted_files import assert_plays, body_file, played, saved
from gltf_files import CUBE, CUBE_FACES, cube
from realdata import real
from solids import made_fit, open_tube

PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8cfc0000003010100"
    "18dd8db00000000049454e44ae426082"
)


def rich(tmp_path: Path) -> Path:
    """A garment with a picture, colours, own keys and a node below another one that scales it."""
    made = cube()
    primitive = made.tree["meshes"][0]["primitives"][0]
    attributes = primitive["attributes"]
    attributes["TEXCOORD_0"] = made.accessor(np.tile([0.25, 0.75], (8, 1)))
    attributes["COLOR_0"] = made.accessor(np.tile([255, 51, 0, 255], (8, 1)), "u1", normalized=True)
    primitive.update(material=0, extras={"thread": 40})
    made.tree["images"] = [{"bufferView": made.view(PNG), "mimeType": "image/png", "name": "weave"}]
    made.tree["textures"] = [{"source": 0}]
    made.tree["materials"] = [{"name": "wool", "pbrMetallicRoughness": {"baseColorTexture": {"index": 0}}}]
    made.tree["nodes"] = [
        {"name": "hanger", "children": [1], "scale": [0.5, 0.5, 0.5], "translation": [0, 0.5, 0]},
        {"name": "jerkin", "mesh": 0, "rotation": [0, 0.6, 0, 0.8], "extras": {"sewn": True}},
    ]
    made.tree["extras"] = {"maker": "Saltmarsh"}
    return made.save(tmp_path / "jerkin.glb")


@pytest.mark.parametrize("rigged", [True, False])
def test_live_and_reloaded_agree_whatever_the_nodes_do(rigged: bool, tmp_path: Path) -> None:
    fit, garment_file, document, _ = saved(tmp_path, rich(tmp_path), rigged=rigged)
    assert_plays(fit, garment_file, document)


def test_what_the_garment_came_with_keeps_its_index_and_its_bytes(tmp_path: Path) -> None:
    path = rich(tmp_path)
    before = path.read_bytes()
    _, _, document, notes = saved(tmp_path, path)
    source = read_document(path)
    assert path.read_bytes() == before
    assert notes == ()
    for key in ("materials", "textures", "images", "extras"):
        assert document.json[key] == source.json[key]
    assert document.json["accessors"][: len(source.json["accessors"])] == source.json["accessors"]
    for old, new in zip(source.gltf.buffer_views, document.gltf.buffer_views):
        stored = source.buffers[0][old.byte_offset : old.byte_offset + old.byte_length]
        assert document.buffers[0][new.byte_offset : new.byte_offset + new.byte_length] == stored
    old_primitive = source.json["meshes"][0]["primitives"][0]
    primitive = document.json["meshes"][0]["primitives"][0]
    assert primitive["extras"] == {"thread": 40}
    assert old_primitive["attributes"].items() <= primitive["attributes"].items()
    assert primitive["material"] == 0
    names = [node.get("name") for node in document.json["nodes"]]
    assert names[:2] == ["hanger", "jerkin"]
    assert document.json["nodes"][1]["extras"] == {"sewn": True}


def test_targets_are_named_as_the_bodys_and_all_weights_are_zero(tmp_path: Path) -> None:
    fit, _, document, _ = saved(tmp_path, rich(tmp_path))
    mesh = document.json["meshes"][0]
    assert mesh["extras"]["targetNames"] == list(fit.morph_names)
    assert mesh["weights"] == [0.0] * len(fit.morph_names)


def test_saving_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    saved(tmp_path, rich(tmp_path))
    first = (tmp_path / "fitted.glb").read_bytes()
    saved(tmp_path, rich(tmp_path))
    assert (tmp_path / "fitted.glb").read_bytes() == first


def test_bounds_are_those_of_the_float32_values(tmp_path: Path) -> None:
    _, _, document, _ = saved(tmp_path, rich(tmp_path))
    primitive = document.gltf.meshes[0].primitives[0]
    for target in primitive.targets:
        values = read_floats(document, target["POSITION"], "", ("VEC3",))
        entry = document.json["accessors"][target["POSITION"]]
        assert entry["min"] == values.min(axis=0).tolist()
        assert entry["max"] == values.max(axis=0).tolist()


def test_joint_weights_are_four_and_sum_to_one(tmp_path: Path) -> None:
    save_garment(open_tube(), tmp_path / "tube.glb")
    fit, garment_file, document, _ = saved(tmp_path, tmp_path / "tube.glb")
    again = load_garment(tmp_path / "fitted.glb").stored
    assert again.skin is not None
    assert fit.skin is not None
    assert again.skeleton is not None
    assert again.skeleton.names == ("root", "chest")
    np.testing.assert_allclose(again.skin.dense(2), fit.skin.dense(2)[garment_file.file_to_cloth], atol=1e-6)
    for primitive in document.gltf.meshes[0].primitives:
        weights = read_floats(document, primitive.attributes["WEIGHTS_0"], "", ("VEC4",))
        assert np.abs(weights.sum(axis=1) - 1).max() < 2e-7


def test_skinned_mesh_below_a_node_moves_to_the_root_and_its_node_keeps_its_name(tmp_path: Path) -> None:
    _, _, document, _ = saved(tmp_path, rich(tmp_path))
    nodes = document.json["nodes"]
    assert "mesh" not in nodes[1]
    holder = next(index for index, node in enumerate(nodes) if "skin" in node)
    assert nodes[holder]["name"] == "jerkin"
    assert holder in document.json["scenes"][0]["nodes"]
    assert not {"matrix", "translation", "rotation", "scale"} & nodes[holder].keys()


@pytest.mark.parametrize("rigged", [True, False])
@pytest.mark.parametrize("up", ["y", "z"])
def test_garment_in_other_units_is_written_in_metres_under_one_node(up: str, rigged: bool, tmp_path: Path) -> None:
    path = cube(scale=40).save(tmp_path / "box.glb")
    fit, garment_file, document, _ = saved(tmp_path, path, rigged=rigged, units="cm", up=up)
    assert_plays(fit, garment_file, document)
    np.testing.assert_allclose(np.ptp(played(document, {}), axis=0), 0.4, atol=1e-7)
    frame = document.json["nodes"][document.json["scenes"][0]["nodes"][0]]
    np.testing.assert_allclose(frame["scale"], [0.01, 0.01, 0.01])
    assert frame["children"] == [0]
    assert ("rotation" in frame) == (up == "z")


def test_two_nodes_of_one_mesh_follow_each_in_its_own_place(tmp_path: Path) -> None:
    made = cube(scale=0.1)
    made.tree["nodes"] = [{"mesh": 0, "name": "left"}, {"mesh": 0, "name": "right", "translation": [0.5, 0.9, 0]}]
    made.tree["scenes"] = [{"nodes": [0, 1]}]
    fit, garment_file, document, _ = saved(tmp_path, made.save(tmp_path / "cuffs.glb"))
    assert_plays(fit, garment_file, document)
    assert len(document.gltf.meshes) == 2


def test_lines_follow_the_cloth_beside_them(tmp_path: Path) -> None:
    made = cube(scale=0.1)
    primitive = made.tree["meshes"][0]["primitives"][0]
    attributes = {"POSITION": made.accessor(0.1 * CUBE[[7, 2]])}
    made.tree["meshes"][0]["primitives"].append({"attributes": attributes, "mode": 1})
    fit, garment_file, document, _ = saved(tmp_path, made.save(tmp_path / "stitched.glb"), rigged=False)
    assert len(primitive["attributes"]) == 1
    lines = document.gltf.meshes[0].primitives[1]
    for delta, target in zip(fit.deltas, lines.targets):
        found = read_floats(document, target["POSITION"], "", ("VEC3",))
        np.testing.assert_allclose(found, delta[garment_file.file_to_cloth[[7, 2]]], atol=1e-7)


def test_base_that_a_repair_moved_is_written_and_the_rest_is_not_touched(tmp_path: Path) -> None:
    save_garment(open_tube(), tmp_path / "tube.glb")
    file, garment_file = body_file(tmp_path), load_garment(tmp_path / "tube.glb")
    fit = made_fit(garment_file.garment, file.body)
    base = fit.base.copy()
    base[garment_file.garment.faces[garment_file.garment.face_parts == 0]] += (0.0, 0.0, 0.02)
    moved = replace(fit, base=base)
    save_fit(moved, garment_file, file, tmp_path / "fitted.glb")
    document = read_document(tmp_path / "fitted.glb")
    assert_plays(moved, garment_file, document)
    source = garment_file.document
    assert source is not None
    kept = [new.attributes["POSITION"] == old.attributes["POSITION"] for new, old in _primitives(document, source)]
    assert kept == [False, False]  # the parts share the ring between them
    save_fit(fit, garment_file, file, tmp_path / "fitted.glb")
    document = read_document(tmp_path / "fitted.glb")
    for new, old in _primitives(document, source):
        assert old.attributes.items() <= new.attributes.items()


def _primitives(document: Document, source: Document) -> list[tuple[Any, Any]]:
    return list(zip(document.gltf.meshes[0].primitives, source.gltf.meshes[0].primitives))


def test_obj_garment_goes_into_a_fresh_file_with_its_texture_and_hard_edges(tmp_path: Path) -> None:
    faces = "".join(f"f {a + 1}/{n % 4 + 1} {b + 1}/2 {c + 1}/3\n" for n, (a, b, c) in enumerate(CUBE_FACES))
    points = "".join(f"v {x} {y} {z}\n" for x, y, z in 0.3 * CUBE)
    (tmp_path / "box.obj").write_text(points + "vt 0 0\nvt 1 0\nvt 1 1\nvt 0 1\n" + faces)
    fit, garment_file, document, _ = saved(tmp_path, tmp_path / "box.obj")
    again = load_garment(tmp_path / "fitted.glb")
    assert len(again.garment.vertices) == len(garment_file.garment.vertices) == 8
    assert "TEXCOORD_0" in document.gltf.meshes[0].primitives[0].attributes
    weights = np.array([0.5, 1.5])
    there = played(document, dict(zip(fit.morph_names, weights)))
    order = np.linalg.norm(again.stored.vertices[:, None] - fit.base[None], axis=2).argmin(axis=1)
    np.testing.assert_allclose(there, fit.at(weights)[order], atol=1e-6)


def test_pictures_beside_the_file_are_taken_in_and_others_are_said(tmp_path: Path) -> None:
    made = cube(scale=0.2, material=0)
    made.tree["images"] = [{"uri": "weave.png"}, {"uri": "../secret.png"}, {"uri": "gone.png"}]
    made.tree["textures"] = [{"source": index} for index in range(3)]
    made.tree["materials"] = [{"pbrMetallicRoughness": {"baseColorTexture": {"index": 0}}}]
    made.tree["buffers"] = [{"byteLength": len(made.binary), "uri": made.data_uri()}]
    folder = tmp_path / "inner"
    folder.mkdir()
    (folder / "weave.png").write_bytes(PNG)
    (tmp_path / "secret.png").write_bytes(PNG)
    (folder / "box.gltf").write_text(json.dumps(made.tree))
    _, _, document, notes = saved(tmp_path, folder / "box.gltf")
    image = document.json["images"][0]
    view = document.gltf.buffer_views[image["bufferView"]]
    assert document.buffers[0][view.byte_offset : view.byte_offset + view.byte_length] == PNG
    assert image["mimeType"] == "image/png"
    assert document.json["images"][1] == {"uri": "../secret.png"}
    said = "The picture {!r} is not beside the garment; only its name was kept."
    assert notes == (said.format("../secret.png"), said.format("gone.png"))


def test_compressed_copy_of_a_primitive_is_dropped_as_it_knows_no_morphs(tmp_path: Path) -> None:
    compressed = {"KHR_draco_mesh_compression": {"bufferView": 0, "attributes": {}}, "KHR_other": {"a": 1}}
    made = cube(scale=0.2, extensions=compressed)
    made.tree["extensionsUsed"] = ["KHR_draco_mesh_compression"]
    _, _, document, _ = saved(tmp_path, made.save(tmp_path / "box.glb"))
    assert document.json["meshes"][0]["primitives"][0]["extensions"] == {"KHR_other": {"a": 1}}


def test_materials_of_parts_are_written(tmp_path: Path) -> None:
    materials = (Material("wool", picture=PNG), Material("brass", metalness=1.0, is_double_sided=False))
    save_garment(open_tube(), tmp_path / "tube.glb", materials=materials)
    document = read_document(tmp_path / "tube.glb")
    assert [material.name for material in document.gltf.materials] == ["wool", "brass"]
    assert [primitive.material for primitive in document.gltf.meshes[0].primitives] == [0, 1]
    with pytest.raises(ArgumentError, match=r"`materials` must be one per part \(2\) or none, got 1"):
        save_garment(open_tube(), tmp_path / "tube.glb", materials=materials[:1])
    with pytest.raises(ArgumentError, match=r"`uv` must be \(vertices, 2\) or \(144, 3, 2\), got \(4, 2\)"):
        save_garment(open_tube(), tmp_path / "tube.glb", uv=np.zeros((4, 2)))


def test_fit_of_another_garment_is_refused(tmp_path: Path) -> None:
    file = body_file(tmp_path)
    garment_file = load_garment(cube(scale=0.2).save(tmp_path / "box.glb"))
    with pytest.raises(ArgumentError, match=r"`fit` must be a fit of .*box\.glb \(8 vertices\), got 84 vertices"):
        save_fit(made_fit(open_tube(), file.body), garment_file, file, tmp_path / "fitted.glb")


def test_joint_weights_without_joints_are_refused(tmp_path: Path) -> None:
    file = body_file(tmp_path)
    garment_file = load_garment(cube(scale=0.2).save(tmp_path / "box.glb"))
    fit = made_fit(garment_file.garment, file.body)
    bare = replace(file, body=replace(file.body, skeleton=None))
    with pytest.raises(ArgumentError, match="must be a body with joints, as the fit has joint weights"):
        save_fit(fit, garment_file, bare, tmp_path / "fitted.glb")


@pytest.mark.data
@pytest.mark.parametrize(
    "name",
    [
        "SimpleMorph/glTF/SimpleMorph.gltf",
        "MorphPrimitivesTest/glTF/MorphPrimitivesTest.gltf",
        "AnimatedMorphCube/glTF/AnimatedMorphCube.gltf",
        "singleBlendshapeCube_sparse.glb",
        "RiggedSimple.glb",
    ],
)
def test_real_samples_follow_as_garments(name: str, tmp_path: Path) -> None:
    fit, garment_file, document, _ = saved(tmp_path, real(f"loader/{name}"), units="m")
    assert_plays(fit, garment_file, document)
