"""Whatever happens to a file, it is read, or refused with one line: nothing else."""

import json
import struct
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collada_files import collada_file, morph, skin
from dressform.errors import DressformError
from dressform.formats.load import load_garment
from gltf_files import Gltf, cube
from ply_files import EVEN, MIXED, binary, text
from skinned_files import spaces

OBJ = b"v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nvt 0 0\nvt 1 1\nvn 0 0 1\ng a\nf 1/1/1 2/2/1 3/1/1 4/2/1\nf -1 -2 -3\n"
VALUES = [0, 1, 3, -1, 9, 255, 5121, 5126, 1e30, 0.5, "x", None, True, [], {}, [0], 2**32 - 1, 10**12, 2**63, 1e308]
SETTINGS = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def assert_read_or_refused(path: Path, data: bytes) -> None:
    path.write_bytes(data)
    message = str(path)
    try:
        load_garment(path, units="m")
    except DressformError as refused:
        message = str(refused)
    assert "\n" not in message
    assert path.name in message


def changed(made: Gltf, steps: list[int], value: object, drop: bool) -> bytes:
    """The file with one entry of its JSON, found by `steps` down the tree, replaced or left out."""
    raw = made.glb()
    length = struct.unpack_from("<I", raw, 12)[0]
    tree = json.loads(raw[20 : 20 + length])
    node: Any = tree
    parent, key = None, None
    for step in steps:
        if not isinstance(node, dict | list) or not node:
            break
        keys = list(node) if isinstance(node, dict) else range(len(node))
        parent, key = node, keys[step % len(keys)]
        node = node[key]
    if drop:
        del parent[key]
    else:
        parent[key] = value
    written = json.dumps(tree).encode()
    written += b" " * (-len(written) % 4)
    body = struct.pack("<II", len(written), 0x4E4F534A) + written + raw[20 + length :]
    return struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body


@SETTINGS
@given(
    which=st.integers(0, 2),
    steps=st.lists(st.integers(0, 50), min_size=1, max_size=7),
    value=st.sampled_from(VALUES),
    drop=st.booleans(),
)
def test_gltf_with_one_changed_entry(which: int, steps: list[int], value: object, drop: bool, tmp_path: Path) -> None:
    made = [cube(), *spaces()][which]
    assert_read_or_refused(tmp_path / "damaged.glb", changed(made, steps, value, drop))


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("damaged.glb", cube().glb()),
        ("damaged.obj", OBJ),
        ("text.ply", text(MIXED)),
        ("mixed.ply", binary(MIXED, order="<")),
        ("even.ply", binary(EVEN, order=">")),
        ("damaged.dae", b""),
    ],
)
@SETTINGS
@given(seed=st.data())
def test_file_with_changed_bytes(name: str, data: bytes, seed: st.DataObject, tmp_path: Path) -> None:
    if name.endswith(".dae"):
        shown = '<instance_controller url="#skin"/>'
        data = collada_file(tmp_path, shown, controllers=morph() + skin("morph")).read_bytes()
    at = seed.draw(st.integers(0, len(data) - 1))
    gone = seed.draw(st.integers(0, 20))
    new = seed.draw(st.binary(max_size=3) | st.sampled_from([b"9", b"-", b" ", b"\n", b"1e400", b"nan", b"<", b"#"]))
    assert_read_or_refused(tmp_path / name, data[:at] + new + data[at + gone :])
