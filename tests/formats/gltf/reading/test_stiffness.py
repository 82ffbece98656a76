"""A garment's file says which of its parts are stiff, where it likes, and that is heard before name and size."""

import itertools
from pathlib import Path
from typing import Any

import pytest

from dressform.formats.load import load_garment
from dressform.garment.garment import Garment
from dressform.garment.parts import find_pieces
from gltf_files import Gltf, cube

PLACES = ("primitive", "material", "mesh", "node")


def crate(path: Path, **said: Any) -> Garment:
    """A cube of half a metre, too large for a button, with extras in the places named."""
    made = cube(scale=0.5, material=0)
    made.tree["materials"] = [{"name": "tin"}]
    for place, extras in said.items():
        _holder(made, place)["extras"] = {"stiffness": extras, "other": "kept"}
    return load_garment(made.save(path / "crate.glb"), units="m", up="y").garment


def _holder(made: Gltf, place: str) -> Any:
    mesh = made.tree["meshes"][0]
    return {
        "primitive": mesh["primitives"][0],
        "material": made.tree["materials"][0],
        "mesh": mesh,
        "node": made.tree["nodes"][0],
    }[place]


@pytest.mark.parametrize("place", PLACES)
def test_a_part_is_hard_where_its_file_says_so(tmp_path: Path, place: str) -> None:
    garment = crate(tmp_path, **{place: 1.0})
    assert dict(garment.stiffness) == {"cube": 1.0}
    assert find_pieces(garment).hard.all()


def test_a_part_of_which_nothing_is_said_is_cloth(tmp_path: Path) -> None:
    garment = crate(tmp_path)
    assert dict(garment.stiffness) == {}
    assert not find_pieces(garment).hard.any()


def test_the_nearest_place_counts(tmp_path: Path) -> None:
    for near, far in itertools.pairwise(PLACES):
        assert dict(crate(tmp_path, **{near: 0.25, far: 1}).stiffness) == {"cube": 0.25}


def test_true_is_rigid_and_a_number_below_a_half_is_cloth(tmp_path: Path) -> None:
    assert dict(crate(tmp_path, node=True).stiffness) == {"cube": 1.0}
    assert not find_pieces(crate(tmp_path, node=0.4)).hard.any()
    assert find_pieces(crate(tmp_path, node=0.5)).hard.all()


@pytest.mark.parametrize("odd", [300, -1, "stiff", None, [1]])
def test_what_is_no_stiffness_is_left_out_with_a_note(tmp_path: Path, odd: object) -> None:
    garment = crate(tmp_path, mesh=odd)
    assert dict(garment.stiffness) == {}
    assert [note for note in garment.notes if "`meshes[0].extras.stiffness`" in note and repr(odd) in note]
