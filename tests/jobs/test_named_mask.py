"""A mask that is given by name is read from the garment's file, from Python as from the command line."""

from pathlib import Path

import numpy as np
import pytest

import dressform as df
from dressform.errors import ArgumentError
from dressform.formats.gltf.save import save_body, save_garment
from solids import capped_body, open_tube


@pytest.fixture
def painted(tmp_path: Path) -> tuple[df.Body, Path]:
    """A body, and a garment whose file says of the upper half that it does not follow."""
    save_body([capped_body("woman")], tmp_path / "body.glb")
    tube = open_tube()
    upper = tube.vertices[:, 1] > np.median(tube.vertices[:, 1])
    strength = np.where(upper, 0.0, 1.0)
    save_garment(
        df.Garment("tube", tube.vertices, tube.faces, tube.part_names, tube.face_parts, strength), tmp_path / "t.glb"
    )
    data = (tmp_path / "t.glb").read_bytes()
    assert b'"_STRENGTH"' in data
    (tmp_path / "tube.glb").write_bytes(data.replace(b'"_STRENGTH"', b'"_PAINTED_"'))
    return df.load_body(tmp_path / "body.glb"), tmp_path / "tube.glb"


def test_a_mask_by_name_does_what_reading_the_file_with_it_does(painted: tuple[df.Body, Path]) -> None:
    body, path = painted
    plain = df.load_garment(path, beside=body)
    assert (plain.strength == 1.0).all()
    named = df.fit(body, plain, df.Following(mask="_PAINTED_"))
    read = df.fit(body, df.load_garment(path, beside=body, mask="_PAINTED_"))
    assert np.array_equal(named.garment.strength, read.garment.strength)
    assert np.array_equal(named.deltas, read.deltas)
    assert not np.array_equal(named.deltas, df.fit(body, plain).deltas)


def test_a_name_that_the_file_lacks_is_refused_with_those_it_has(painted: tuple[df.Body, Path]) -> None:
    body, path = painted
    garment = df.load_garment(path, beside=body)
    with pytest.raises(
        ArgumentError, match=r"fit: `following\.mask` must be among .*tube\.glb: .*_PAINTED_.*, got 'NO'"
    ):
        df.fit(body, garment, df.Following(mask="NO"))
