"""The pieces of the writer, each against its own inverse."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.body.skeleton import Skin
from dressform.errors import ArgumentError
from dressform.formats.gltf import builder as building
from dressform.formats.gltf.accessors import read_floats, read_integers
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.corners import split_corners
from dressform.formats.gltf.document import Document, parse_document
from dressform.formats.gltf.morphs.targets import add_skin_attributes, transform_entry
from dressform.formats.gltf.normals import SOME_DIRECTION, unit_rows
from dressform.formats.gltf.reading.scene import local_matrix
from dressform.formats.gltf.schema import Node

EMPTY = {"asset": {"version": "2.0"}}
SEEDS = st.integers(0, 2**32 - 1)


def reread(builder: Builder) -> Document:
    return parse_document(Path("made.glb"), builder.glb())


@given(seed=SEEDS, faces=st.integers(1, 30), has_uv=st.booleans(), has_normals=st.booleans())
def test_split_corners_keep_every_corner_and_share_all_they_can(
    seed: int, faces: int, has_uv: bool, has_normals: bool
) -> None:
    random = np.random.default_rng(seed)
    corners = random.integers(0, 8, (faces, 3))
    uv = random.integers(0, 2, (faces, 3, 2)).astype(float) if has_uv else None
    normals = random.integers(-1, 1, (faces, 3, 3)).astype(float) if has_normals else None
    split = split_corners(corners, uv=uv, normals=normals)
    np.testing.assert_array_equal(split.sources[split.faces], corners)
    rows = [split.sources[:, None]]
    for values, kept in ((uv, split.uv), (normals, split.normals)):
        if values is not None:
            assert kept is not None
            np.testing.assert_array_equal(kept[split.faces], values)
            rows.append(kept)
    assert len(np.unique(np.concatenate(rows, axis=1), axis=0)) == len(split.sources)
    assert np.all(np.diff(split.sources) >= 0)


@given(seed=SEEDS, mirrored=st.booleans())
def test_translation_rotation_scale_of_a_matrix_is_that_matrix(seed: int, mirrored: bool) -> None:
    random = np.random.default_rng(seed)
    turn = np.linalg.qr(random.normal(size=(3, 3)))[0]
    if (np.linalg.det(turn) < 0) != mirrored:
        turn[:, 0] *= -1
    matrix = np.eye(4)
    matrix[:3, :3] = turn * random.uniform(0.01, 100, 3)
    matrix[:3, 3] = random.normal(size=3)
    entry = transform_entry(matrix)
    assert "matrix" not in entry
    document = reread(Builder(EMPTY))
    np.testing.assert_allclose(local_matrix(document, Node(**entry), ""), matrix, atol=1e-10)


@pytest.mark.parametrize("angle", [0.0, 1e-9, np.pi / 2, np.pi - 1e-9, np.pi])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_half_turns_and_tiny_turns_are_found_too(angle: float, axis: int) -> None:
    first, second = (axis + 1) % 3, (axis + 2) % 3
    matrix = np.eye(4)
    matrix[first, first] = matrix[second, second] = np.cos(angle)
    matrix[first, second], matrix[second, first] = -np.sin(angle), np.sin(angle)
    document = reread(Builder(EMPTY))
    np.testing.assert_allclose(local_matrix(document, Node(**transform_entry(matrix)), ""), matrix, atol=1e-9)


def test_sheared_transform_is_written_as_a_matrix() -> None:
    matrix = np.eye(4)
    matrix[0, 1] = 0.5
    np.testing.assert_array_equal(np.reshape(transform_entry(matrix)["matrix"], (4, 4)).T, matrix)


@given(seed=SEEDS, count=st.sampled_from([1, 40, 257, 70_000]), share=st.sampled_from([0.0, 0.01, 0.5, 1.0]))
def test_targets_come_back_dense_or_sparse(seed: int, count: int, share: float) -> None:
    random = np.random.default_rng(seed)
    deltas = random.normal(size=(count, 3)) * (random.random((count, 1)) < share)
    builder = Builder(EMPTY)
    index = builder.add_target(deltas, threshold=1e-8, bounds=True)
    found = read_floats(reread(builder), index, "", ("VEC3",))
    np.testing.assert_array_equal(found, deltas.astype(np.float32))
    entry = builder.table("accessors")[index]
    assert entry["min"] == found.min(axis=0).tolist()
    assert entry["max"] == found.max(axis=0).tolist()


@given(seed=SEEDS, joints=st.sampled_from([1, 3, 256, 257]), most=st.integers(1, 6))
def test_skin_attributes_hold_four_joints_that_sum_to_one(seed: int, joints: int, most: int) -> None:
    random = np.random.default_rng(seed)
    skin = Skin.from_dense(random.random((20, joints)) ** 8, most=most)
    builder = Builder(EMPTY)
    attributes = add_skin_attributes(builder, skin, joints)
    document = reread(builder)
    weights = read_floats(document, attributes["WEIGHTS_0"], "", ("VEC4",))
    found = read_integers(document, attributes["JOINTS_0"], "", ("VEC4",))
    assert np.abs(weights.sum(axis=1) - 1).max() < 2e-7
    assert np.all(found[weights == 0] == 0)
    expected = Skin.from_dense(skin.dense(joints)).dense(joints)
    np.testing.assert_allclose(Skin(found, weights).dense(joints), expected, atol=1e-6)


def test_rows_without_a_length_become_a_unit_vector() -> None:
    found = unit_rows(np.array([[3.0, 0, 4], [0, 0, 0], [np.nan, 1, 0]]))
    np.testing.assert_allclose(found, [[0.6, 0, 0.8], SOME_DIRECTION, SOME_DIRECTION])


def test_file_over_four_gigabytes_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(building, "MAX_GLB_BYTES", 100)
    with pytest.raises(ArgumentError, match="under 4 GiB in all"):
        Builder(EMPTY, bytes(200)).glb()
