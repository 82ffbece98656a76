"""Damaged or hostile glTF gets one line that names the file, the place and the next step."""

import json
import os
import struct
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.gltf.document import parse_document, read_document
from dressform.formats.guards.limits import memory_limit, text_limit
from dressform.formats.load import load_body, load_garment
from gltf_files import Gltf, cube


def changed(**more: Any) -> bytes:
    made = cube()
    made.tree.update(more)
    return made.glb()


def deep() -> bytes:
    tree: Any = {}
    for _ in range(120):
        tree = {"a": [tree]}
    return changed(extras=tree)


def very_deep() -> bytes:
    return b'{"asset":{"version":"2.0"},"extras":' + b"[" * 200_000 + b"]" * 200_000 + b"}"


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (cube().glb()[:10], "is not glTF|cut off after 10 bytes"),
        (cube().glb()[:200], "header: is cut off: 200 of"),
        (struct.pack("<4sII", b"glTF", 1, 40) + bytes(28), "is GLB version 1, not 2"),
        (struct.pack("<4sIIII", b"glTF", 2, 24, 4, 7) + b"{}  ", "chunk 0: is not JSON"),
        (struct.pack("<4sIIII", b"glTF", 2, 24, 99, 0x4E4F534A) + b"{}  ", "chunk 0: of 99 bytes reaches beyond"),
        (b"solid not a gltf", "is not glTF"),
        (b"\xff\xfe\x00binary", "neither GLB nor UTF-8 JSON"),
        (b"[1, 2]", "its JSON is no object"),
        (b'{"asset": {"version": "1.0"}}', "asset.version: is '1.0', not 2.x"),
        (b'{"asset": 3}', "asset.version: is None, not 2.x"),
        (b'{"asset": {"version": "2.0"}, "x": NaN}', "holds NaN"),
        (b'{"asset": {"version": "2.0"}, "x": -Infinity}', "holds -Infinity"),
        (b'{"asset": {"version": "2.0"}, "x": [-1e999]}', "holds a number that is too large"),
        (deep(), "nested deeper than 100 levels"),
        (very_deep(), "nested deeper than 100 levels"),
        (changed(nodes=[{"mesh": "zero"}]), r"\$.nodes\[0\].mesh: expected `int"),
        (changed(nodes=[{"mesh": -1}]), r"\$.nodes\[0\].mesh: expected `int` >= 0"),
        (changed(nodes=[{"matrix": [1, 2]}]), r"\$.nodes\[0\].matrix: expected `array` of length >= 16"),
        (changed(meshes={}), r"\$.meshes: expected `array`"),
        (changed(extensionsRequired=["EXT_strange"]), "needs EXT_strange, which cannot be read"),
        (changed(buffers=[{"byteLength": 9999}]), r"buffers\[0\]: is cut off: .* of 9,999 bytes"),
        (changed(buffers=[{"byteLength": 4}, {"byteLength": 4}]), r"buffers\[1\]: has neither a URI nor a binary"),
    ],
)
def test_damaged_file_is_refused_in_one_line(data: bytes, message: str, tmp_path: Path) -> None:
    path = tmp_path / "body.glb"
    path.write_bytes(data)
    with pytest.raises(FileError, match=message) as refused:
        read_document(path)
    assert str(path) in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("end", range(0, len(cube().glb()) - 1, 37))
def test_file_cut_anywhere_is_refused(end: int, tmp_path: Path) -> None:
    path = tmp_path / "body.glb"
    path.write_bytes(cube().glb()[:end])
    with pytest.raises(FileError):
        load_garment(path, units="m")


@pytest.mark.parametrize(
    ("uri", "message"),
    [
        ("../secret.bin", "outside its folder"),
        ("a/../../secret.bin", "outside its folder"),
        ("%2e%2e/secret.bin", "outside its folder"),
        ("/etc/passwd", "not a file beside it"),
        ("file:///etc/passwd", "not a file beside it"),
        ("http://example.org/a.bin", "not a file beside it"),
        ("//example.org/a.bin", "not a file beside it"),
        ("..\\secret.bin", "not a file beside it"),
        ("C:\\a.bin", "not a file beside it"),
        ("missing.bin", "which is missing"),
        ("data:application/octet-stream,abc", "a data URI that is not base64"),
        ("data:application/octet-stream;base64,@@@", "damaged base64"),
    ],
)
def test_buffer_outside_the_folder_is_refused(uri: str, message: str, tmp_path: Path) -> None:
    folder = tmp_path / "inner"
    folder.mkdir()
    (tmp_path / "secret.bin").write_bytes(bytes(4096))
    made = cube()
    made.tree["buffers"] = [{"byteLength": len(made.binary), "uri": uri}]
    (folder / "body.gltf").write_text(json.dumps(made.tree))
    with pytest.raises(FileError, match=message):
        read_document(folder / "body.gltf")


def test_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "inner"
    folder.mkdir()
    (tmp_path / "secret.bin").write_bytes(bytes(4096))
    (folder / "near.bin").symlink_to(tmp_path / "secret.bin")
    made = cube()
    made.tree["buffers"] = [{"byteLength": 8, "uri": "near.bin"}]
    (folder / "body.gltf").write_text(json.dumps(made.tree))
    with pytest.raises(FileError, match="outside its folder"):
        read_document(folder / "body.gltf")


def external(made: Gltf, folder: Path) -> str:
    (folder / "the cube.bin").write_bytes(bytes(made.binary))
    return "the%20cube.bin"


def inline(made: Gltf, folder: Path) -> str:
    return made.data_uri()


@pytest.mark.parametrize("place", [external, inline])
def test_external_and_inline_buffers_give_the_same_mesh(place: Callable[[Gltf, Path], str], tmp_path: Path) -> None:
    made = cube()
    expected = load_garment(made.save(tmp_path / "cube.glb")).garment
    made.tree["buffers"] = [{"byteLength": len(made.binary), "uri": place(made, tmp_path)}]
    (tmp_path / "cube.gltf").write_text("\ufeff" + json.dumps(made.tree))
    found = load_garment(tmp_path / "cube.gltf").garment
    np.testing.assert_array_equal(found.vertices, expected.vertices)
    np.testing.assert_array_equal(found.faces, expected.faces)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda path: None, "there is no such file"),
        (lambda path: path.mkdir(), "is a folder"),
        (lambda path: path.write_bytes(b""), "is empty"),
    ],
)
def test_what_is_no_file_is_refused(make: Callable[[Path], object], message: str, tmp_path: Path) -> None:
    make(tmp_path / "body.glb")
    with pytest.raises(FileError, match=message):
        load_body(tmp_path / "body.glb")


def test_file_larger_than_the_limit_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "body.glb"
    path.touch()
    os.truncate(path, memory_limit() + 1)  # a hole: it takes no room on the disk
    with pytest.raises(FileError, match="is 2,147,483,649 bytes, more than the 2,147,483,648 read"):
        load_body(path)


@pytest.mark.parametrize("name", ["body.obj", "body.dae"])
def test_text_larger_than_its_limit_is_refused_unread(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(b"ply\nformat ascii 1.0\nend_header\n")
    os.truncate(path, text_limit() + 1)
    with pytest.raises(FileError, match="is 536,870,913 bytes, more than the 536,870,912 read"):
        load_body(path)


def test_unknown_kind_of_file_lists_the_known_ones(tmp_path: Path) -> None:
    (tmp_path / "body.xyz").write_text("1 2 3")
    with pytest.raises(
        FileError, match=r"is a \.xyz file. Export it as one of \.glb, \.gltf, \.vrm, \.obj, \.ply, \.dae"
    ):
        load_body(tmp_path / "body.xyz")


def test_unknown_keys_survive(tmp_path: Path) -> None:
    document = parse_document(tmp_path / "a.glb", changed(extras={"maker": ["x", 1.5]}, strange={"a": None}))
    assert document.json["extras"] == {"maker": ["x", 1.5]}
    assert document.json["strange"] == {"a": None}
