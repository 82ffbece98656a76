"""COLLADA: geometry, node transforms, morph and skin controllers alone and on top of each other, units and axes."""

from pathlib import Path

import numpy as np
import pytest

from collada_files import NAMESPACES, UP, collada_file, geometry, morph, moved, numbers, skin, source
from dressform.errors import FileError
from dressform.formats.load import load_body, load_garment
from dressform.formats.xml_meshes import collada as reader
from gltf_files import CUBE, CUBE_FACES


@pytest.mark.parametrize("version", NAMESPACES)
def test_geometry_stands_where_its_node_puts_it(version: str, tmp_path: Path) -> None:
    shown = f'<matrix>{numbers(moved(1, 2, 3))}</matrix><instance_geometry url="#cube"/>'
    garment = load_garment(collada_file(tmp_path, shown, version=version)).garment
    np.testing.assert_allclose(garment.vertices, CUBE + np.array([1, 2, 3]), atol=1e-6)
    np.testing.assert_array_equal(garment.faces, CUBE_FACES)


@pytest.mark.parametrize("method", ["NORMALIZED", "RELATIVE"])
def test_morph_controller_gives_displacements(method: str, tmp_path: Path) -> None:
    belly = CUBE + UP if method == "NORMALIZED" else np.tile(UP, (8, 1))
    path = collada_file(tmp_path, '<instance_controller url="#morph"/>', controllers=morph(method=method), belly=belly)
    body = load_body(path)
    assert body.body.morph_names == ("belly",)
    np.testing.assert_allclose(body.body.deltas[0], np.tile(UP, (8, 1)), atol=1e-6)
    np.testing.assert_array_equal(body.default_weights, [0.25])


@pytest.mark.parametrize("over", ["cube", "morph"])
def test_skin_over_geometry_or_morph_gives_joints(over: str, tmp_path: Path) -> None:
    path = collada_file(tmp_path, '<instance_controller url="#skin"/>', controllers=morph() + skin(over))
    body = load_body(path).body
    assert body.skeleton is not None
    assert body.skin is not None
    assert body.skeleton.names == ("hip", "knee")
    np.testing.assert_allclose(body.skeleton.positions, [[0, 0, 0], [0, 0.5, 0]], atol=1e-7)
    np.testing.assert_allclose(body.skin.dense(2), np.tile([0.25, 0.75], (8, 1)), atol=1e-7)
    np.testing.assert_allclose(body.vertices, CUBE, atol=1e-6)
    assert body.morph_names == (("belly",) if over == "morph" else ())


def test_unit_and_axis_of_the_file_are_converted_and_said(tmp_path: Path) -> None:
    asset = '<unit name="centimeter" meter="0.01"/><up_axis>Z_UP</up_axis>'
    shown = f'<matrix>{numbers(np.diag([40, 20, 170, 1]))}</matrix><instance_geometry url="#cube"/>'
    body = load_body(collada_file(tmp_path, shown, asset=asset)).body
    np.testing.assert_allclose(np.ptp(body.vertices, axis=0), [0.4, 1.7, 0.2], atol=1e-6)
    said = "The file says centimetres, +Z up; it was converted to metres and turned to +Y up."
    assert body.notes[0] == said


def test_polygons_with_texture_are_triangulated(tmp_path: Path) -> None:
    polygons = f"{source('cube-t', np.array([[0, 0], [1, 0], [1, 0.25], [0, 1]]), 'ST')}"
    made = geometry(
        "cube",
        CUBE,
        polygons='<polylist count="1"><input semantic="VERTEX" source="#cube-v" offset="0"/>'
        '<input semantic="TEXCOORD" source="#cube-t" offset="1"/><vcount>4</vcount><p>0 0 4 1 6 2 2 3</p></polylist>',
    ).replace("<vertices", polygons + "<vertices")
    stored = load_garment(collada_file(tmp_path, '<instance_geometry url="#cube"/>', cube=made)).stored
    np.testing.assert_array_equal(stored.faces, [[0, 4, 6], [0, 6, 2]])
    assert stored.corner_uv is not None
    np.testing.assert_allclose(stored.corner_uv[0], [[0, 1], [1, 1], [1, 0.75]])


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (("<COLLADA", "<CALENDAR"), "is not COLLADA: (its root|mismatched)"),
        (("</asset>", ""), "is not COLLADA: mismatched tag"),
        (("#cube", "#ghost"), "(is damaged|shows no triangles)"),
        (("<p>0 1 3", "<p>0 1 99"), "is damaged"),
        (("<p>0 1 3", "<p>zero 1 3"), "is damaged"),
    ],
)
def test_damaged_collada_is_refused_in_one_line(change: tuple[str, str], message: str, tmp_path: Path) -> None:
    path = collada_file(tmp_path, '<instance_geometry url="#cube"/>')
    path.write_text(path.read_text().replace(*change))
    with pytest.raises(FileError, match=message) as refused:
        load_garment(path)
    assert "\n" not in str(refused.value)


def test_morph_of_another_count_is_refused(tmp_path: Path) -> None:
    path = collada_file(tmp_path, '<instance_controller url="#morph"/>', controllers=morph(), belly=np.zeros((9, 3)))
    with pytest.raises(FileError, match="morph belly: has 9 vertices, its base has 8"):
        load_body(path)


def test_joint_outside_the_scene_is_refused(tmp_path: Path) -> None:
    path = collada_file(tmp_path, '<instance_controller url="#skin"/>', controllers=skin("cube"))
    path.write_text(path.read_text().replace('sid="knee" name="knee"', 'sid="shin" name="shin"'))
    with pytest.raises(FileError, match="controller skin: has the joint 'knee', which is no node of the scene"):
        load_body(path)


def test_without_the_extra_the_message_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "collada", None)
    with pytest.raises(FileError, match=r"needs pycollada. Install it: pip install 'dressform\[collada\]'"):
        load_body(collada_file(tmp_path, '<instance_geometry url="#cube"/>'))


def test_entities_that_multiply_are_refused(tmp_path: Path) -> None:
    entities = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10 if n else "ha" * 50}">' for n in range(12))
    path = tmp_path / "cube.dae"
    path.write_text(f"<!DOCTYPE x [{entities}]><COLLADA>&e11;</COLLADA>")
    with pytest.raises(FileError, match="is not COLLADA"):
        load_body(path)


@pytest.mark.parametrize("number", ["-1", "8", "9999"])
def test_index_outside_the_positions_is_refused_with_file_and_place(number: str, tmp_path: Path) -> None:
    path = collada_file(tmp_path, '<instance_geometry url="#cube"/>')
    text = path.read_text()
    first = f"<p>{numbers(CUBE_FACES)}</p>"
    path.write_text(text.replace(first, first.replace("<p>0 ", f"<p>{number} ", 1)))
    with pytest.raises(FileError, match=rf"{path.name}: .*(names vertex -1 of 8|is damaged)"):
        load_garment(path)


def test_negative_index_of_a_texture_coordinate_is_refused(tmp_path: Path) -> None:
    polygons = (
        '<triangles count="1"><input semantic="VERTEX" source="#cube-v" offset="0"/>'
        '<input semantic="TEXCOORD" source="#cube-t" offset="1"/><p>0 0 1 -1 2 2</p></triangles>'
    )
    coordinates = source("cube-t", np.array([[0, 0], [1, 0], [1, 1]]), "ST")
    made = geometry("cube", CUBE, polygons=polygons).replace("<mesh>", f"<mesh>{coordinates}")
    path = collada_file(tmp_path, '<instance_geometry url="#cube"/>', cube=made)
    with pytest.raises(FileError, match="geometry cube, corner 1: names texture coordinate -1 of 3"):
        load_garment(path)
