"""File names of any bytes, as text that JSON, glTF and a terminal can hold."""

import json
import os
from pathlib import Path

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.errors import FileError
from dressform.formats.guards.file_names import path_of, path_text, stem_of
from dressform.formats.load import load_body, load_garment
from gltf_files import cube

NAMES = st.binary(min_size=1, max_size=30).filter(lambda name: b"\0" not in name)
ODD = os.fsdecode(b"caf\xe9")


@given(name=NAMES)
def test_path_comes_back_from_json(name: bytes) -> None:
    path = Path(os.fsdecode(name))
    text = path_text(path)
    assert path_of(msgspec.json.decode(msgspec.json.encode(text))) == path
    assert path_of(json.loads(json.dumps(text, ensure_ascii=False).encode())) == path


@given(name=NAMES)
def test_shown_name_is_utf8(name: bytes) -> None:
    stem_of(Path(os.fsdecode(name))).encode("utf-8")


def test_ordinary_path_stays_as_it_is() -> None:
    assert path_text(Path("wardrobe/Öljytakki 1%.glb")) == "wardrobe/Öljytakki 1%.glb"


def test_no_name_adds_a_line_to_a_log() -> None:
    assert stem_of(Path("x\n::error::boo\u2028.glb")) == "x%0A::error::boo%E2%80%A8"


def test_odd_byte_is_shown_in_percent() -> None:
    assert stem_of(Path(f"{ODD}.glb")) == "caf%E9"


def test_path_that_looks_like_a_uri_is_written_as_one() -> None:
    assert path_text(Path("file:coat.glb")) == "file:file:coat.glb"
    assert path_of("file:file:coat.glb") == Path("file:coat.glb")


@pytest.mark.parametrize("suffix", [".glb", ".gltf"])
def test_garment_and_body_of_an_odd_name_have_a_name_that_can_be_written(suffix: str, tmp_path: Path) -> None:
    made = cube()
    path = tmp_path / f"{ODD}{suffix}"
    if suffix == ".gltf":
        made.tree["buffers"] = [{"byteLength": len(made.binary), "uri": made.data_uri()}]
        path.write_text(json.dumps(made.tree))
    else:
        made.save(path)
    assert load_garment(path, units="m").garment.name == "caf%E9"
    assert load_body(path, units="m", up="y").body.name == "caf%E9"
    np.testing.assert_array_equal(load_garment(path, units="m").garment.faces.shape, (12, 3))


def test_message_about_an_odd_name_can_be_printed_and_holds_no_control_codes() -> None:
    said = str(FileError.of(f"{ODD}\x1b[31m.glb", "here\u0085", "is damaged", "Export it again"))
    assert said == "caf\\xe9\\x1b[31m.glb: here\\x85: is damaged. Export it again."
    said.encode("utf-8")
