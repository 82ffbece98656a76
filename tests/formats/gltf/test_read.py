"""Scenes: node transforms, instances, primitives, morphs and skins merged into one mesh."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.reading.primitive import TRIANGLE_FAN, TRIANGLE_STRIP
from dressform.formats.load import load_body, load_garment
from gltf_files import CUBE, CUBE_FACES, Gltf, cube
from gltf_scenes import morphing_cube, read

QUARTER = [0.0, 0.0, float(np.sqrt(0.5)), float(np.sqrt(0.5))]  # a quarter turn about z


def volume(mesh: FileMesh) -> float:
    """Sum of the signed cones from the origin to each triangle."""
    return float(np.linalg.det(mesh.vertices[mesh.faces]).sum() / 6)


def test_translation_rotation_scale_is_the_matrix_product() -> None:
    made = cube()
    made.tree["nodes"][0].update(translation=[1, 2, 3], rotation=QUARTER, scale=[2, 3, 4])
    scaled = CUBE * (2, 3, 4)
    expected = np.stack([-scaled[:, 1], scaled[:, 0], scaled[:, 2]], axis=1) + np.array([1, 2, 3])
    np.testing.assert_allclose(read(made).vertices, expected, atol=1e-12)


def test_matrix_and_parents_apply_from_the_root_down() -> None:
    made = cube()
    shift = np.eye(4)
    shift[:3, 3] = (0, 0, 5)
    made.tree["nodes"] = [{"children": [1], "scale": [2, 2, 2]}, {"mesh": 0, "matrix": shift.T.ravel().tolist()}]
    np.testing.assert_allclose(read(made).vertices, 2 * (CUBE + np.array([0, 0, 5])), atol=1e-12)


def test_morphs_take_the_linear_part_of_the_node_only() -> None:
    mesh = read(morphing_cube(translation=[10, 0, 0], rotation=QUARTER, scale=[1, 3, 1]))
    np.testing.assert_allclose(mesh.deltas[0], np.tile([-3.0, 0.0, 0.0], (8, 1)), atol=1e-12)
    assert mesh.morph_names == ("target_0", "target_1")


def test_mirroring_node_keeps_the_outside_outside() -> None:
    made = cube()
    assert volume(read(made)) == pytest.approx(1.0)
    made.tree["nodes"][0]["scale"] = [-2, 1, 1]
    assert volume(read(made)) == pytest.approx(2.0)


def test_two_nodes_of_one_mesh_are_two_copies() -> None:
    made = morphing_cube(names=["up", "corner"])
    made.tree["nodes"] = [{"mesh": 0}, {"mesh": 0, "translation": [3, 0, 0]}]
    made.tree["scenes"] = [{"nodes": [0, 1]}]
    mesh = read(made)
    np.testing.assert_allclose(mesh.vertices[8:], mesh.vertices[:8] + np.array([3, 0, 0]))
    np.testing.assert_allclose(mesh.deltas[:, 8:], mesh.deltas[:, :8])
    assert volume(mesh) == pytest.approx(2.0)


def test_morphs_of_several_meshes_are_matched_by_name() -> None:
    made = morphing_cube(names=["up", "corner"])
    plain = made.tree["meshes"][0]["primitives"][0]
    other = {**plain, "targets": plain["targets"][::-1]}
    made.tree["meshes"].append({"primitives": [other], "extras": {"targetNames": ["side", "up"]}})
    made.tree["nodes"].append({"mesh": 1, "translation": [5, 0, 0]})
    made.tree["scenes"] = [{"nodes": [0, 1]}]
    mesh = read(made)
    assert mesh.morph_names == ("up", "corner", "side")
    np.testing.assert_array_equal(mesh.deltas[0], np.tile([0.0, 1.0, 0.0], (16, 1)))
    assert not mesh.deltas[1, 8:].any()
    assert not mesh.deltas[2, :8].any()


def test_default_weights_are_those_of_the_node_else_of_the_mesh() -> None:
    made = morphing_cube()
    made.tree["meshes"][0]["weights"] = [0.25, 0.5]
    np.testing.assert_array_equal(read(made).default_weights, [0.25, 0.5])
    made.tree["nodes"][0]["weights"] = [1.0, 0.0]
    np.testing.assert_array_equal(read(made).default_weights, [1.0, 0.0])


def test_missing_and_repeated_target_names_are_filled_up() -> None:
    assert read(morphing_cube(names=["up"])).morph_names == ("up", "target_1")
    assert read(morphing_cube(names=["up", "up"])).morph_names == ("up", "up_2")


def test_strips_and_fans_are_wound_as_the_standard_says() -> None:
    square = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0]], dtype=float)
    for mode, order, area in ((TRIANGLE_STRIP, [0, 1, 2, 3], 1.0), (TRIANGLE_FAN, [0, 1, 3, 2], 1.0)):
        made = Gltf()
        indices = made.accessor(order, "u1")
        attributes = {"POSITION": made.accessor(square)}
        made.tree["meshes"] = [{"primitives": [{"attributes": attributes, "indices": indices, "mode": mode}]}]
        made.tree["nodes"] = [{"mesh": 0}]
        mesh = read(made)
        a, b, c = (mesh.vertices[mesh.faces[:, corner]] for corner in range(3))
        normals = np.cross(b - a, c - a) / 2
        assert np.all(normals[:, 2] > 0)
        assert normals[:, 2].sum() == pytest.approx(area)


def test_strips_may_jump_by_repeated_vertices() -> None:
    made = Gltf()
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [5, 0, 0], [6, 0, 0], [5, 1, 0]], dtype=float)
    indices = made.accessor([0, 1, 2, 2, 3, 3, 4, 5], "u2")
    attributes = {"POSITION": made.accessor(points)}
    made.tree["meshes"] = [{"primitives": [{"attributes": attributes, "indices": indices, "mode": TRIANGLE_STRIP}]}]
    made.tree["nodes"] = [{"mesh": 0}]
    assert sorted(map(sorted, read(made).faces.tolist())) == [[0, 1, 2], [3, 4, 5]]


def test_primitive_without_indices_takes_vertices_in_threes() -> None:
    made = Gltf()
    made.tree["meshes"] = [{"primitives": [{"attributes": {"POSITION": made.accessor(CUBE[CUBE_FACES.ravel()])}}]}]
    made.tree["nodes"] = [{"mesh": 0}]
    mesh = read(made)
    assert volume(mesh) == pytest.approx(1.0)
    assert len(mesh.vertices) == 36


def test_quantised_positions_and_deltas_are_scaled_by_the_node() -> None:
    made = Gltf()
    grid = (CUBE * 65535).astype(np.uint16)
    attributes = {"POSITION": made.accessor(np.pad(grid, ((0, 0), (0, 1))), "u2")}
    entry = made.tree["accessors"][0]
    entry.update(type="VEC3", normalized=True)
    made.tree["bufferViews"][0]["byteStride"] = 8
    delta = made.accessor(np.pad(np.tile([0, 127, 0], (8, 1)), ((0, 0), (0, 1))), "i1", type="VEC3", normalized=True)
    made.tree["bufferViews"][1]["byteStride"] = 4
    indices = made.accessor(CUBE_FACES.reshape(-1, 1), "u1")
    primitive = {"attributes": attributes, "indices": indices, "targets": [{"POSITION": delta}]}
    made.tree.update(meshes=[{"primitives": [primitive]}], nodes=[{"mesh": 0, "scale": [1.8, 1.8, 1.8]}])
    made.tree["extensionsRequired"] = made.tree["extensionsUsed"] = ["KHR_mesh_quantization"]
    mesh = read(made)
    np.testing.assert_allclose(mesh.vertices, 1.8 * CUBE, atol=1e-12)
    np.testing.assert_allclose(mesh.deltas[0], np.tile([0, 1.8, 0], (8, 1)), atol=1e-12)


def test_parts_are_named_by_material_where_a_mesh_has_several() -> None:
    made = cube(material=0)
    first = made.tree["meshes"][0]["primitives"][0]
    made.tree["meshes"][0]["primitives"].append({**first, "material": 1, "extras": {"name": "buttons"}})
    made.tree["materials"] = [{"name": "wool"}, {"name": "brass"}]
    mesh = read(made)
    assert mesh.part_names == ("wool", "buttons")
    np.testing.assert_array_equal(mesh.face_parts, np.repeat([0, 1], 12))


def test_lines_and_points_are_left_out_with_a_note() -> None:
    made = cube()
    first = made.tree["meshes"][0]["primitives"][0]
    made.tree["meshes"][0]["primitives"].append({"attributes": first["attributes"], "mode": 1})
    assert read(made).notes == ("1 primitives draw points or lines; they were left out.",)


def test_colours_and_own_attributes_are_read_per_channel() -> None:
    made = cube()
    attributes = made.tree["meshes"][0]["primitives"][0]["attributes"]
    attributes["COLOR_0"] = made.accessor(np.tile([255, 51, 0, 255], (8, 1)), "u1", normalized=True)
    attributes["_WIND"] = made.accessor(np.arange(8.0))
    scalars = read(made).scalars
    np.testing.assert_allclose(scalars["COLOR_0.g"], 0.2)
    np.testing.assert_array_equal(scalars["_WIND"], np.arange(8))


def test_garment_says_what_of_its_file_was_left_out(tmp_path: Path) -> None:
    made = morphing_cube(names=["up", "corner"])
    made.tree["meshes"][0]["weights"] = [0.5, 0.0]
    made.tree["scenes"] = [{"nodes": [0], "name": "worn"}, {"nodes": [], "name": "folded"}]
    garment = load_garment(made.save(tmp_path / "cube.glb")).garment
    np.testing.assert_array_equal(garment.vertices, CUBE)
    assert garment.notes == (
        "Of 2 scenes only the first shown, 'worn', was read.",
        "The garment was read with its own morphs at 0, though the file shows up.",
    )


def test_parts_of_a_body_are_its_regions_unless_it_has_masks(tmp_path: Path) -> None:
    made = cube(scale=1.7, material=0)
    first = made.tree["meshes"][0]["primitives"][0]
    first["indices"] = made.accessor(CUBE_FACES[:4].reshape(-1, 1), "u2")
    rest = made.accessor(CUBE_FACES[4:].reshape(-1, 1), "u2")
    made.tree["meshes"][0]["primitives"].append({**first, "indices": rest, "material": 1})
    made.tree["materials"] = [{"name": "palm"}, {"name": "back"}]
    regions = load_body(made.save(tmp_path / "hand.glb")).body.regions
    assert set(regions) == {"palm", "back"}
    assert regions["palm"].sum() == len(np.unique(CUBE_FACES[:4]))
    first["attributes"]["_REGION_TOP_SIDE"] = made.accessor(CUBE[:, 1])
    regions = load_body(made.save(tmp_path / "hand.glb")).body.regions
    assert set(regions) == {"top_side"}
    assert regions["top_side"].sum() == 4


def test_strength_comes_from_an_attribute_or_a_colour_channel(tmp_path: Path) -> None:
    made = cube()
    attributes = made.tree["meshes"][0]["primitives"][0]["attributes"]
    attributes["_STRENGTH"] = made.accessor(np.linspace(0, 1, 8))
    attributes["COLOR_0"] = made.accessor(np.tile([255, 51, 0, 255], (8, 1)), "u1", normalized=True)
    path = made.save(tmp_path / "cube.glb")
    np.testing.assert_allclose(load_garment(path).garment.strength, np.linspace(0, 1, 8), atol=1e-7)
    np.testing.assert_allclose(load_garment(path, strength="COLOR_0.g").garment.strength, 0.2)
    with pytest.raises(FileError, match=r"have no 'COLOR_1\.r'\. Its per-vertex numbers are: COLOR_0\.a, COLOR_0\.b"):
        load_garment(path, strength="COLOR_1.r")
    attributes["_STRENGTH"] = made.accessor(np.full(8, 1.5))
    with pytest.raises(FileError, match=r"_STRENGTH: is 1\.5 at vertex 0, outside \[0, 1\]"):
        load_garment(made.save(tmp_path / "strong.glb"))
