"""A pack gives back what went in, and says what is wrong with anything else."""

import json
import struct

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from dressform.errors import ArgumentError, DressformError
from dressform.report.page.pack import ALIGNMENT, DTYPES, Coarse, coarsen, read_pack, write_pack

WORDS = st.text(st.characters(codec="utf-8"), max_size=12)
HEADERS = st.dictionaries(
    WORDS.filter(lambda word: word != "arrays"),
    st.recursive(
        st.none()
        | st.booleans()
        | st.integers(-(2**53), 2**53)
        | st.floats(allow_nan=False, allow_infinity=False)
        | WORDS,
        lambda inner: st.lists(inner, max_size=3),
        max_leaves=6,
    ),
    max_size=4,
)
ARRAYS = st.dictionaries(
    WORDS,
    st.sampled_from([np.dtype(name) for name in DTYPES.values()]).flatmap(
        lambda dtype: arrays(dtype, array_shapes(min_dims=1, max_dims=3, min_side=0, max_side=5))
    ),
    max_size=4,
)


@given(HEADERS, ARRAYS)
def test_what_is_packed_comes_back(header, named):
    pack = read_pack(write_pack(header, named))
    assert pack.header == header
    assert list(pack.arrays) == list(named)
    for name, array in named.items():
        assert pack.arrays[name].dtype == array.dtype
        np.testing.assert_array_equal(pack.arrays[name], array)


@given(HEADERS, ARRAYS)
def test_every_array_starts_at_a_multiple_of_eight_bytes(header, named):
    data = write_pack(header, named)
    (length,) = struct.unpack_from("<I", data)
    entries = json.loads(data[4 : 4 + length])["arrays"]
    assert (4 + length) % ALIGNMENT == 0
    assert [entry["at"] % ALIGNMENT for entry in entries] == [0] * len(named)
    for entry, array in zip(entries, named.values(), strict=True):
        start = 4 + length + entry["at"]
        assert data[start : start + entry["bytes"]] == array.tobytes()


@given(st.binary(max_size=200))
def test_arbitrary_bytes_are_refused_with_words(data):
    with pytest.raises(DressformError, match="must be a pack"):
        read_pack(data)


@given(HEADERS, ARRAYS.filter(lambda named: any(array.nbytes > 0 for array in named.values())), st.data())
def test_a_pack_cut_short_inside_its_arrays_is_refused(header, named, data):
    whole = write_pack(header, named)
    (length,) = struct.unpack_from("<I", whole)
    last = max(e["at"] + e["bytes"] for e in json.loads(whole[4 : 4 + length])["arrays"] if e["bytes"])
    keep = data.draw(st.integers(0, 4 + length + last - 1))
    with pytest.raises(DressformError, match="must be a pack"):
        read_pack(whole[:keep])


def test_arrays_in_any_layout_are_stored_row_by_row():
    columns = np.asfortranarray(np.arange(12, dtype=np.float32).reshape(4, 3))
    big_ended = np.arange(5, dtype=">i4")
    pack = read_pack(write_pack({}, {"columns": columns, "ends": big_ended, "part": columns[::2]}))
    np.testing.assert_array_equal(pack.arrays["columns"], columns)
    np.testing.assert_array_equal(pack.arrays["ends"], np.arange(5))
    np.testing.assert_array_equal(pack.arrays["part"], columns[::2])


@pytest.mark.parametrize("dtype", [name for name in DTYPES if name not in ("f4", "u4", "i4")])
def test_coarse_numbers_are_off_by_at_most_half_a_step(dtype):
    values = np.random.default_rng(5).normal(0.9, 0.4, (300, 3))
    pack = read_pack(write_pack({}, {"x": coarsen(values, dtype=dtype)}))
    back = pack.arrays["x"]
    assert isinstance(back, Coarse)
    steps = 2 ** (8 * np.dtype(DTYPES[dtype]).itemsize) - 2
    assert back.scale == pytest.approx(np.ptp(values) / steps, rel=1e-12)
    assert np.abs(back.real - values).max() <= 0.5 * back.scale + 2e-7


def test_numbers_that_are_all_the_same_come_back_exactly():
    for value in (0.0, -3.25):
        np.testing.assert_array_equal(coarsen(np.full(4, value)).real, np.full(4, value, dtype=np.float32))
    assert coarsen(np.zeros((0, 3))).real.shape == (0, 3)


@pytest.mark.parametrize("seed", range(40))
def test_numbers_of_any_span_find_a_step(seed):
    random = np.random.default_rng(seed)
    values = random.normal(random.normal(), 10.0 ** random.uniform(-6, 3), 50)
    for dtype in ("i2", "u2", "u1"):
        coarse = coarsen(values, dtype=dtype)
        back = coarse.stored.astype(np.float64) * coarse.scale + coarse.offset
        assert np.abs(back - values).max() <= 0.5 * coarse.scale * (1 + 1e-9)


def test_a_given_scale_is_the_step():
    coarse = coarsen(np.array([-0.5, 0.2499, 0.75]), dtype="i2", scale=0.001)
    assert coarse.scale == 0.001
    np.testing.assert_allclose(coarse.real, [-0.5, 0.25, 0.75], atol=1e-7)


def test_numbers_that_do_not_fit_their_scale_are_refused():
    with pytest.raises(ArgumentError, match=r"within 255 steps of 0\.001, got a span of 1"):
        coarsen(np.array([0.0, 1.0]), dtype="u1", scale=0.001)


def test_numbers_that_are_not_finite_are_refused():
    with pytest.raises(ArgumentError, match="`values` must be finite"):
        coarsen(np.array([0.0, np.nan]))


def test_a_type_that_holds_no_integers_is_refused():
    with pytest.raises(ArgumentError, match="`dtype` must be one of i2, u2, u1, u4, i4, got 'f4'"):
        coarsen(np.zeros(3), dtype="f4")


def test_types_that_the_browser_would_not_read_are_refused():
    with pytest.raises(ArgumentError, match=r"`weights` must be of a type among f4, .*, got float64"):
        write_pack({}, {"weights": np.zeros(3)})


def test_a_header_with_its_own_list_of_arrays_is_refused():
    with pytest.raises(ArgumentError, match="`header` must be without `arrays`"):
        write_pack({"arrays": []}, {})


ENTRY = {"name": "x", "dtype": "f4", "shape": [2], "at": 0, "bytes": 8}


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"dtype": "f8"}, "lacks name, dtype"),
        ({"shape": None}, "contradicts itself"),
        ({"shape": [3]}, "contradicts itself"),
        ({"shape": [-2]}, "contradicts itself"),
        ({"bytes": 8.0}, "contradicts itself"),
        ({"at": 4}, "ends at byte 12 of 8"),
        ({"at": 8}, "ends at byte 16 of 8"),
        ({"scale": "x", "offset": 0}, "no finite scale"),
        ({"scale": 1.0}, "lacks name, dtype"),
    ],
)
def test_a_header_that_contradicts_the_data_is_refused(change, problem):
    head = json.dumps({"arrays": [{**ENTRY, **change}]}).encode()
    head += b" " * (-(4 + len(head)) % ALIGNMENT)
    with pytest.raises(DressformError, match=problem):
        read_pack(struct.pack("<I", len(head)) + head + bytes(8))
