"""`.npy` files against numpy's own reader and writer."""

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from dressform.errors import FileError
from dressform.formats.guards.npy import parse_npy


def saved(values: np.ndarray) -> bytes:
    stream = io.BytesIO()
    np.save(stream, values)
    return stream.getvalue()


def parsed(data: bytes) -> np.ndarray:
    return parse_npy(data, Path("coat.toml"), "garment.coat.painted", "paint.npy", advice="Save the paint again")


@given(
    values=arrays(st.sampled_from(["<f4", ">f8", "<f2", "u1", "<i8"]), array_shapes(min_dims=0, min_side=0)),
    fortran=st.booleans(),
)
def test_what_numpy_saves_is_read_as_numpy_reads_it(values: np.ndarray, fortran: bool) -> None:
    data = saved(np.asfortranarray(values) if fortran else values)
    np.testing.assert_array_equal(parsed(data), np.load(io.BytesIO(data)))


LYING = saved(np.zeros(16, "<f4")).replace(b"(16,)", b"(99999999999999,)")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"PK\x03\x04" + saved(np.zeros(16))[4:], "is no .npy file of numbers"),
        (LYING, "declares 99,999,999,999,999 numbers of 4 bytes, but"),
        (saved(np.zeros(16)).replace(b"(16,)", b"(-6,)"), "declares -6 numbers"),
        (saved(np.zeros(16)).replace(b"(16,), }", b"(((((16 "), "is no .npy file of numbers"),
        (saved(np.zeros(16)).replace(b"<f8", b"<U2"), "holds no list of numbers, but <U2"),
        (saved(np.zeros(16)).replace(b"<f8", b"<zz"), "is no .npy file of numbers"),
        (saved(np.zeros(16))[:-1], "declares 16 numbers of 8 bytes, but 127 bytes follow"),
        (saved(np.zeros(16)) + b"\0", "declares 16 numbers of 8 bytes, but 129 bytes follow"),
        (b"\x93NUMPY\x09\x00", "is no .npy file of numbers"),
        (b"", "is no .npy file of numbers"),
    ],
)
def test_damaged_file_is_refused_and_what_names_it_is_told(data: bytes, said: str) -> None:
    with pytest.raises(FileError, match=r"coat\.toml: garment\.coat\.painted: paint\.npy") as refused:
        parsed(data)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


@given(at=st.integers(0, 200), new=st.binary(max_size=3), gone=st.integers(0, 20))
def test_changed_bytes_are_read_or_refused(at: int, new: bytes, gone: int) -> None:
    data = saved(np.linspace(0, 1, 16))
    message, kind = "", "f"
    try:
        kind = parsed(data[:at] + new + data[at + gone :]).dtype.kind
    except FileError as refused:
        message = str(refused)
    assert kind in "fiu"
    assert "\n" not in message
