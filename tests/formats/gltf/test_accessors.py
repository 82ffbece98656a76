"""Accessors: every component type, stride, and sparse form gives the numbers that went in."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.errors import FileError
from dressform.formats.gltf.accessors import read_floats, read_integers
from dressform.formats.gltf.document import Document, parse_document
from gltf_files import CODES, Gltf


def parsed(made: Gltf) -> Document:
    return parse_document(Path("made.glb"), made.glb())


@pytest.mark.parametrize("code", CODES)
def test_every_component_type_gives_its_numbers(code: str) -> None:
    made = Gltf()
    values = np.array([[0, 1, 2], [100, 50, 3]])
    index = made.accessor(values, code)
    np.testing.assert_array_equal(read_floats(parsed(made), index, "here", ("VEC3",)), values)


@pytest.mark.parametrize(
    ("code", "stored", "meant"),
    [
        ("u1", [0, 51, 255], [0.0, 0.2, 1.0]),
        ("u2", [0, 13107, 65535], [0.0, 0.2, 1.0]),
        ("i1", [-128, -127, 127], [-1.0, -1.0, 1.0]),
        ("i2", [-32768, 0, 32767], [-1.0, 0.0, 1.0]),
    ],
)
def test_normalised_integers_are_fractions(code: str, stored: list[int], meant: list[float]) -> None:
    made = Gltf()
    index = made.accessor(stored, code, normalized=True)
    np.testing.assert_allclose(read_floats(parsed(made), index, "here", ("SCALAR",))[:, 0], meant, atol=1e-15)


@given(
    rows=st.integers(1, 20),
    width=st.sampled_from([1, 2, 3, 4]),
    code=st.sampled_from(["i1", "u1", "i2", "u2", "f4"]),
    gap=st.integers(0, 5),
    lead=st.integers(0, 3),
    seed=st.integers(0, 2**16),
)
def test_interleaved_equals_packed(rows: int, width: int, code: str, gap: int, lead: int, seed: int) -> None:
    values = np.random.default_rng(seed).integers(0, 100, (rows, width)).astype("<" + code)
    element = values.itemsize * width
    stride, offset = element + 4 * gap, 4 * lead
    raw = bytearray(offset + rows * stride)
    for row in range(rows):
        raw[offset + row * stride : offset + row * stride + element] = values[row].tobytes()
    made = Gltf()
    index = made.accessor(values, code)
    made.tree["accessors"].append(
        {**made.tree["accessors"][index], "bufferView": made.view(bytes(raw), byteStride=stride), "byteOffset": offset}
    )
    document = parsed(made)
    kinds = ("SCALAR", "VEC2", "VEC3", "VEC4")
    np.testing.assert_array_equal(read_floats(document, index + 1, "", kinds), read_floats(document, index, "", kinds))


@pytest.mark.parametrize("has_base", [True, False])
@pytest.mark.parametrize("code", ["u1", "u2", "u4"])
def test_sparse_replaces_rows(has_base: bool, code: str) -> None:
    base = np.arange(12.0).reshape(4, 3)
    made = Gltf()
    index = made.accessor(base)
    entry = made.tree["accessors"][index]
    if not has_base:
        del entry["bufferView"]
    entry["sparse"] = {
        "count": 2,
        "indices": {"bufferView": made.view(np.array([1, 3], "<" + code).tobytes()), "componentType": CODES[code]},
        "values": {"bufferView": made.view(np.array([[7, 8, 9], [-1, -2, -3]], "<f4").tobytes())},
    }
    expected = base.copy() if has_base else np.zeros((4, 3))
    expected[[1, 3]] = [[7, 8, 9], [-1, -2, -3]]
    np.testing.assert_array_equal(read_floats(parsed(made), index, "here", ("VEC3",)), expected)


def broken(change: str) -> Gltf:
    """A file with one accessor that is wrong in the way named."""
    made = Gltf()
    made.accessor([[1, 2, 3], [4, 5, np.nan if change == "nan" else 6]])
    accessor, view = made.tree["accessors"][0], made.tree["bufferViews"][0]
    if change == "count":
        accessor["count"] = 3
    elif change == "huge":
        del accessor["bufferView"]
        accessor["count"] = 4_000_000_000
    elif change == "view":
        accessor["bufferView"] = 5
    elif change == "buffer":
        view["buffer"] = 2
    elif change == "length":
        view["byteLength"] = 4000
    elif change == "stride":
        view["byteStride"] = 4
    elif change == "component":
        accessor["componentType"] = 5124
    elif change == "sparse row":
        indices = {"bufferView": made.view(b"\x09"), "componentType": 5121}
        accessor["sparse"] = {"count": 1, "indices": indices, "values": {"bufferView": made.view(bytes(12))}}
    elif change == "sparse count":
        indices = {"bufferView": made.view(bytes(9)), "componentType": 5121}
        accessor["sparse"] = {"count": 9, "indices": indices, "values": {"bufferView": made.view(bytes(108))}}
    return made


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("nan", r"made\.glb: here: holds \[4\.0, 5\.0, nan\] at element 1"),
        ("count", "needs 36 bytes .* which has 24"),
        ("huge", "would take 268.2 GiB of memory; the limit is 2 GiB"),
        ("view", "names buffer view 5 of 1"),
        ("buffer", r"bufferViews\[0\]: names buffer 2 of 1"),
        ("length", "ends at byte 4,000 of a buffer of 24"),
        ("stride", "stride 4"),
        ("component", "has component type 5124, not one of 5120, 5121"),
        ("sparse row", "replaces element 9 of 2"),
        ("sparse count", "damaged sparse part of 9 in 2 elements"),
    ],
)
def test_damaged_accessor_is_refused(change: str, message: str) -> None:
    with pytest.raises(FileError, match=message):
        read_floats(parsed(broken(change)), 0, "here", ("VEC3",))


def test_wrong_kind_of_accessor_is_refused() -> None:
    made = Gltf()
    index = made.accessor([[1, 2, 3]])
    with pytest.raises(FileError, match="is of type VEC3, not SCALAR"):
        read_floats(parsed(made), index, "here", ("SCALAR",))
    with pytest.raises(FileError, match="names accessor 4 of 1"):
        read_floats(parsed(made), 4, "here", ("VEC3",))
    with pytest.raises(FileError, match="component type 5126, not an unsigned integer"):
        read_integers(parsed(made), index, "here", ("VEC3",))
