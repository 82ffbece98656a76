"""Compressed rows and indices: what we write the reference decodes, what it writes we decode, and damage is told."""

import base64
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.formats.gltf.meshopt.attributes import decode_attributes, encode_attributes
from dressform.formats.gltf.meshopt.filters import EXPONENTIAL, OCTAHEDRAL, QUATERNION, on_grid, unfiltered
from dressform.formats.gltf.meshopt.indices import decode_indices, decode_triangles, encode_triangles
from nodetools import node
from solids import tube

STRIDES = (4, 8, 12, 16, 64, 256)
COUNTS = (1, 15, 16, 17, 255, 256, 257, 700)


def rows(seed: int, count: int, stride: int, *, steps: int) -> np.ndarray:
    """Rows whose bytes change by so much from row to row: every mode of a group occurs."""
    rng = np.random.default_rng(seed)
    calm = rng.integers(0, 2, (count, stride)) * rng.integers(-steps, steps + 1, (count, stride))
    return np.cumsum(calm, axis=0).astype(np.uint8)


def triangle_lists() -> list[np.ndarray]:
    """A tube row by row, shuffled, with gaps, with triangles apart, and with ones that meet themselves."""
    rng = np.random.default_rng(2)
    _, faces = tube(height=1.0, radius=0.2)
    apart = np.arange(30).reshape(-1, 3)
    return [faces, rng.permutation(faces), 7 * rng.permutation(faces), apart, apart + 5, apart[::-1],
            np.array([[0, 0, 0], [0, 0, 1], [3, 3, 2], [2, 3, 3]]), rng.integers(0, 70_000, (200, 3)),
            np.concatenate([faces, [[4, len(faces), len(faces) + 1]], faces])]  # fmt: skip


def turned_alike(found: np.ndarray, expected: np.ndarray) -> bool:
    """Whether the triangles are the same in their order, each begun at any corner."""
    turns = [np.roll(expected.reshape(-1, 3), -turn, axis=1) for turn in range(3)]
    return bool(np.any([(found.reshape(-1, 3) == turned).all(axis=1) for turned in turns], axis=0).all())


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**31), st.sampled_from(COUNTS), st.sampled_from(STRIDES), st.sampled_from([0, 1, 6, 127]))
def test_rows_come_back_whatever_they_hold(seed: int, count: int, stride: int, steps: int) -> None:
    made = rows(seed, count, stride, steps=steps)
    np.testing.assert_array_equal(decode_attributes(encode_attributes(made), count, stride), made)


@pytest.mark.parametrize("count", COUNTS)
def test_floats_of_a_mesh_of_any_size_are_unfiltered_from_what_was_decoded(count: int) -> None:
    values = np.random.default_rng(count).normal(size=(count, 3))
    stored = on_grid(values, -12)
    decoded = decode_attributes(encode_attributes(stored), count, 12)
    found = unfiltered(decoded, EXPONENTIAL).view("<f4")
    np.testing.assert_allclose(found, values, atol=2.0**-13 + 1e-6)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(*[st.integers(0, 12)] * 3), min_size=1, max_size=60))
def test_triangles_come_back_in_their_order(triangles: list[tuple[int, int, int]]) -> None:
    made = np.array(triangles)
    assert turned_alike(decode_triangles(encode_triangles(made), made.size), made)


def test_the_example_of_the_standard_decodes_as_it_says() -> None:
    """[EXTMeshopt, appendix A]: one group of 4-bit differences with two sentinels."""
    group = bytes.fromhex("175ff0bc77a9210034b5")
    column = b"\x02" + group
    stream = b"\xa0" + column + b"\x00" * 3 + bytes(32)
    found = decode_attributes(stream, 16, 4)[:, 0].view(np.int8)
    steps = [-1, -4, -3, 26, -91, 0, -6, 6, -4, -4, 5, -5, 1, -1, 0, 0]
    np.testing.assert_array_equal(found, np.cumsum(steps).astype(np.int8))


@pytest.mark.node
def test_the_reference_decodes_what_we_write_and_we_decode_what_it_writes(tmp_path: Path) -> None:
    made = [rows(seed, count, stride, steps=9 * seed) for seed, (count, stride) in
            enumerate((count, stride) for count in COUNTS for stride in STRIDES)]  # fmt: skip
    lists = triangle_lists()
    rng = np.random.default_rng(1)
    jobs: list[dict[str, Any]] = []
    for one in made:
        jobs.append(job("decode", "ATTRIBUTES", one, encode_attributes(one)))
        jobs.append(job("encode", "ATTRIBUTES", one, one.tobytes()))
    for faces in lists:
        flat = faces.reshape(-1, 1).astype("<u4")
        jobs.append(job("decode", "TRIANGLES", flat.view(np.uint8), encode_triangles(faces)))
        jobs.append(job("encode", "TRIANGLES", flat.view(np.uint8), flat.tobytes()))
        jobs.append(job("encode", "INDICES", flat.view(np.uint8), flat.tobytes()))
    units = rng.normal(size=(100, 4)).astype("<f4")
    units /= np.linalg.norm(units, axis=1, keepdims=True)
    directions = units.copy()
    directions[:, :3] /= np.linalg.norm(directions[:, :3], axis=1, keepdims=True)
    filtered = [(OCTAHEDRAL, 8, directions, 12), (OCTAHEDRAL, 4, directions, 8), (QUATERNION, 8, units, 14),
                (EXPONENTIAL, 16, 100 * units, 20)]  # fmt: skip
    for name, size, values, bits in filtered:
        shape = np.zeros((len(values), size), dtype=np.uint8)
        jobs.append(job("encode", "ATTRIBUTES", shape, values.tobytes()) | {"filter": name, "bits": bits})
    answers = iter(asked(jobs, tmp_path))
    for one in made:
        assert next(answers) == one.tobytes()
        np.testing.assert_array_equal(decode_attributes(next(answers), *one.shape), one)
    for faces in lists:
        assert turned_alike(np.frombuffer(next(answers), "<u4"), faces)
        assert turned_alike(decode_triangles(next(answers), faces.size), faces)
        np.testing.assert_array_equal(decode_indices(next(answers), faces.size), faces.ravel())
    coded = [next(answers) for _ in filtered]
    again = asked(
        [job("decode", "ATTRIBUTES", np.zeros((100, size), np.uint8), data) | {"filter": name}
         for (name, size, _, _), data in zip(filtered, coded)], tmp_path,
    )  # fmt: skip
    for (name, size, values, _), data, theirs in zip(filtered, coded, again):
        ours = unfiltered(decode_attributes(data, 100, size), name)
        kind, top = {4: ("i1", 127.0), 8: ("<i2", 32767.0), 16: ("<f4", 1.0)}[size]
        numbers = ours.reshape(-1).view(kind).reshape(100, -1).astype(float)
        assert np.abs(numbers - np.frombuffer(theirs, kind).reshape(100, -1)).max() <= (1.0 if top > 1 else 0.0)
        wide, sign = (3 if name == OCTAHEDRAL else 4), 1.0
        if name == QUATERNION:  # q and -q are one rotation
            sign = np.sign((numbers * values).sum(axis=1, keepdims=True))
        assert np.abs(sign * numbers[:, :wide] / top - values[:, :wide]).max() < 0.02


def job(what: str, mode: str, shape: np.ndarray, data: bytes) -> dict[str, Any]:
    count, size = shape.shape
    return {"what": what, "mode": mode, "count": count, "size": size, "data": base64.b64encode(data).decode()}


def asked(jobs: list[dict[str, Any]], tmp_path: Path) -> list[bytes]:
    (tmp_path / "jobs.json").write_text(json.dumps(jobs))
    return [base64.b64decode(answer) for answer in json.loads(node("meshopt.mjs", tmp_path / "jobs.json"))]


def test_floats_on_a_grid_come_back_at_its_nearest_points() -> None:
    values = np.random.default_rng(4).normal(size=(50, 3))
    found = unfiltered(on_grid(values, -14), EXPONENTIAL).view("<f4")
    np.testing.assert_array_equal(found, (np.rint(values * 2**14) / 2**14).astype("<f4"))
    with pytest.raises(ValueError, match=r"does not fit on a grid of 2\^-30"):
        on_grid(values, -30)


@pytest.mark.parametrize("cut", [0, 1, 30, 40, -1])
def test_a_stream_cut_short_is_told(cut: int) -> None:
    stream = encode_attributes(rows(0, 40, 8, steps=9))[:cut]
    with pytest.raises(ValueError, match=r"empty|begin as|too early|too many"):
        decode_attributes(stream, 40, 8)


def test_damage_is_told_or_gives_numbers_but_nothing_else() -> None:
    rng = np.random.default_rng(5)
    _, faces = tube(height=1.0, radius=0.2)
    attributes, triangles = encode_attributes(rows(1, 90, 12, steps=30)), encode_triangles(rng.permutation(faces))
    told = 0
    for _ in range(300):
        for stream, decode in ((attributes, lambda s: decode_attributes(s, 90, 12)),
                               (triangles, lambda s: decode_triangles(s, faces.size)),
                               (triangles, lambda s: decode_indices(s, 30))):  # fmt: skip
            damaged = bytearray(stream)
            for place in rng.integers(0, len(stream), 3):
                damaged[place] = rng.integers(256)
            try:
                assert len(decode(bytes(damaged))) > 0
            except ValueError:
                told += 1
    assert told > 300
