"""OBJ: order kept, indices of every form, polygons, parts, and folders of morphs."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.load import load_body, load_garment
from dressform.formats.obj import read_obj
from realdata import real

SQUARE = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\n"


def written(tmp_path: Path, text: str, *, name: str = "cloth.obj") -> Path:
    (tmp_path / name).write_text(text)
    return tmp_path / name


def text_of(vertices: np.ndarray, faces: np.ndarray) -> str:
    points = "".join(f"v {x:.9g} {y:.9g} {z:.9g}\n" for x, y, z in vertices)
    return points + "".join(f"f {a} {b} {c}\n" for a, b, c in faces + 1)


def test_polygons_become_fans_in_the_order_of_the_file(tmp_path: Path) -> None:
    mesh = read_obj(written(tmp_path, SQUARE + "v 0.5 2 0\nf 1 2 3 4\nf 4 3 5\n"))
    np.testing.assert_array_equal(mesh.faces, [[0, 1, 2], [0, 2, 3], [3, 2, 4]])
    np.testing.assert_array_equal(mesh.vertices[4], [0.5, 2, 0])


def test_negative_indices_count_back_from_their_line(tmp_path: Path) -> None:
    mesh = read_obj(written(tmp_path, SQUARE + "f -4 -3 -2\nv 9 9 9\nf -5 -3 -2\n"))
    np.testing.assert_array_equal(mesh.faces, [[0, 1, 2], [0, 2, 3]])


def test_corners_keep_their_texture_and_normal(tmp_path: Path) -> None:
    text = SQUARE + "vt 0 0\nvt 1 0.25\nvn 0 0 2\nvn 1 0 0\nf 1/1/1 2/2/1 3/2/2\nf 1/2/2 3/1/1 4/1/1\n"
    mesh = read_obj(written(tmp_path, text))
    assert mesh.corner_uv is not None
    assert mesh.corner_normals is not None
    np.testing.assert_array_equal(mesh.corner_uv[0], [[0, 1], [1, 0.75], [1, 0.75]])
    np.testing.assert_array_equal(mesh.corner_normals[0], [[0, 0, 1], [0, 0, 1], [1, 0, 0]])


def test_corners_without_texture_give_none(tmp_path: Path) -> None:
    mesh = read_obj(written(tmp_path, SQUARE + "vn 0 0 1\nf 1//1 2//1 3//1\n"))
    assert mesh.corner_uv is None
    assert mesh.corner_normals is not None


def test_parts_are_materials_else_groups_else_objects(tmp_path: Path) -> None:
    text = SQUARE + "o coat\nf 1 2 3\ng sleeve\nf 1 2 3\nusemtl brass\nf 1 3 4\n"
    mesh = read_obj(written(tmp_path, text))
    assert mesh.part_names == ("coat", "sleeve", "brass")
    np.testing.assert_array_equal(mesh.face_parts, [0, 1, 2])


def test_comments_tabs_line_ends_and_continued_lines_are_read(tmp_path: Path) -> None:
    text = "# made by hand\r\n" + SQUARE.replace(" ", "\t", 1).replace("\n", "\r\n") + "f 1 2 \\\r\n 3 # front\r\n"
    np.testing.assert_array_equal(read_obj(written(tmp_path, text)).faces, [[0, 1, 2]])


def test_a_mark_of_byte_order_hides_no_vertex(tmp_path: Path) -> None:
    np.testing.assert_array_equal(read_obj(written(tmp_path, "\ufeff" + SQUARE + "f 1 2 4\n")).faces, [[0, 1, 3]])


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "is empty"),
        ("hello\n", "holds no vertices"),
        (SQUARE, "holds no faces"),
        (SQUARE + "f 1 2\n", "line 5: is a face of 2 corners"),
        (SQUARE + "f 1 2 5\n", "line 5: names vertex 5 of 4"),
        (SQUARE + "f 1 2 0\n", "line 5: names vertex 0 of 4"),
        (SQUARE + "f 1 2 -5\n", "line 5: names vertex -5 of 4"),
        (SQUARE + "vt 0 0\nf 1/1 2/1 3/2\n", "line 6: names texture coordinate 2 of 1"),
        (SQUARE + "f 1//1 2//1 3//1\n", "line 5: names normal 1 of 0"),
        (SQUARE + "f 1 2 x\n", "line 5: 'x' is not a face corner"),
        (SQUARE + "f 1 2 99999999999999999999\n", "line 5: '99999999999999999999' is not a face corner"),
        ("v 0 0\nf 1 1 1\n", "line 1: 'v 0 0' does not hold 3 finite numbers"),
        ("v 0 0 nan\nf 1 1 1\n", "line 1: 'v 0 0 nan' does not hold 3 finite numbers"),
        (SQUARE + "v 0 inf 0\nf 1 2 3\n", "line 5: 'v 0 inf 0'"),
        ("v a b c\n", "line 1: 'v a b c'"),
        ("v 0 0 1_0\n", "line 1: 'v 0 0 1_0' does not hold 3 finite numbers"),
        ("v 0 0 \u0661\n", "line 1: 'v 0 0 \u0661' does not hold 3 finite numbers"),
        ("v 0 0 0\0\n", "it is not text"),
    ],
)
def test_damaged_obj_names_its_line(text: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(FileError, match=message):
        read_obj(written(tmp_path, text))


def test_triangles_in_one_point_are_no_garment(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="hold no triangle with an area"):
        load_garment(written(tmp_path, SQUARE + "f 1 1 2\n"))


@pytest.mark.data
def test_two_real_bodies_beside_a_third_are_its_morphs(tmp_path: Path) -> None:
    base = real("bodies/mean_all.obj")
    folder = tmp_path / "morphs"
    folder.mkdir()
    for name in ("female", "male"):
        (folder / f"{name}.obj").symlink_to(real(f"bodies/mean_{name}.obj").resolve())
    body = load_body(base, morphs_dir=folder).body
    female = read_obj(real("bodies/mean_female.obj"))
    assert body.morph_names == ("female", "male")
    np.testing.assert_allclose(body.at(np.array([1.0, 0.0])), female.vertices, atol=1e-12)
    np.testing.assert_array_equal(body.faces, female.faces)


def morph_folder(tmp_path: Path) -> Path:
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0, 1.7, 0], [0, 0, 1]], dtype=float)
    faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    (tmp_path / "morphs").mkdir()
    written(tmp_path, text_of(vertices, faces), name="body.obj")
    written(tmp_path / "morphs", text_of(vertices * 2, faces), name="twice.obj")
    return tmp_path / "morphs"


def test_folder_beside_the_obj_is_found(tmp_path: Path) -> None:
    morph_folder(tmp_path)
    body = load_body(tmp_path / "body.obj").body
    assert body.morph_names == ("twice",)
    np.testing.assert_array_equal(body.deltas[0], body.vertices)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "twice.obj: has 3 vertices, its base body.obj has 4"),
        ("v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 2 3\n", "twice.obj: has other faces than its base body.obj"),
    ],
)
def test_morph_of_another_topology_is_refused(text: str, message: str, tmp_path: Path) -> None:
    (morph_folder(tmp_path) / "twice.obj").write_text(text)
    with pytest.raises(FileError, match=message):
        load_body(tmp_path / "body.obj")


def test_folder_without_morphs_is_refused(tmp_path: Path) -> None:
    (morph_folder(tmp_path) / "twice.obj").unlink()
    with pytest.raises(FileError, match="morphs: holds no OBJ"):
        load_body(tmp_path / "body.obj")
    with pytest.raises(FileError, match="elsewhere: is no folder"):
        load_body(tmp_path / "body.obj", morphs_dir=tmp_path / "elsewhere")


def test_morphs_that_differ_in_their_positions_alone_are_never_read_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = morph_folder(tmp_path)
    base = read_obj(tmp_path / "body.obj")
    (folder / "named.obj").write_text("# by hand\r\no named\n" + text_of(base.vertices * 3, base.faces))
    monkeypatch.setattr("dressform.formats.obj_morphs.read_obj", lambda path: pytest.fail(f"{path} is read whole"))
    body = load_body(tmp_path / "body.obj").body
    assert body.morph_names == ("named", "twice")
    np.testing.assert_allclose(body.deltas, [body.vertices * 2, body.vertices], atol=1e-12)


PLAIN = "v 0 0 0\nv 1.5 0 -1e-3\nv 0 1.7 0\nv 0 0 1\n"
FACES = "f 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n"
"""As `morph_folder` writes them."""


@pytest.mark.parametrize(
    "text",
    [
        PLAIN + FACES,
        PLAIN.replace("1.5", "+1.5") + FACES,
        PLAIN.replace("1.5", "1_5.") + FACES,
        PLAIN.replace("\n", " 0.5 0.5 0.5\n") + FACES,
        PLAIN.replace("v 0 0 0\n", "v 0 0 0 0\n").replace("0 0 1", "0 0 1e0 # last") + FACES,
        PLAIN.replace("v 0 0 0\n", "\tv\t0 0  0\n") + FACES,
        PLAIN.replace("v 0 0 1\n", "  v 0 0 1\n") + FACES,
        PLAIN.replace("v 0 1.7 0\n", "v 0 \\\n1.7 0\n") + FACES,
        "# \x0cv 0 0 0\n" + PLAIN.replace("v 0 0 0\n", "") + FACES,
        "# é\u2028v 0 0 0\n" + PLAIN.replace("v 0 0 0\n", "") + FACES,
        PLAIN.replace("v 0 0 1\n", "vn 0 0 1\n# between\nv 0 0 1\n") + FACES,
        PLAIN + "vt 0 0\n" + FACES,
        PLAIN + FACES.replace("f 1 3 2", "f  1 3 2"),
        FACES + PLAIN,
        PLAIN + FACES + "v 3 3 3\n",
        PLAIN.replace("1.5", "1e999") + FACES,
        PLAIN.replace("v 1.5 0", "v 1.5") + FACES,
        PLAIN.replace("v 0 0 0\nv 1.5 0", "v 0 0\nv 0 1.5 0") + FACES,
    ],
)
def test_a_morph_is_read_as_a_body_of_its_own_would_be(text: str, tmp_path: Path) -> None:
    path = morph_folder(tmp_path) / "twice.obj"
    path.write_text(text, encoding="utf-8")
    base = read_obj(tmp_path / "body.obj")
    try:
        alone = read_obj(path).vertices - base.vertices
    except (FileError, ValueError):  # other lines than the base has: the words of the reader, or other vertex counts
        with pytest.raises(FileError):
            load_body(tmp_path / "body.obj")
    else:
        np.testing.assert_array_equal(load_body(tmp_path / "body.obj").body.deltas[0], alone)
