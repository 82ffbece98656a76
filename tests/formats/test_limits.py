"""What a file may ask for: regular files only, and no more memory than the limit."""

import json
import os
import re
import tracemalloc
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.errors import ArgumentError, FileError
from dressform.formats.guards.limits import (
    DEFAULT_MEMORY,
    limited_memory,
    memory_limit,
    mesh_bytes,
    read_bytes,
    set_memory_limit,
)
from dressform.formats.load import load_body, load_garment
from gltf_files import CUBE, Gltf, cube

MIB = 1024**2


def test_pipe_without_a_writer_is_refused_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "body.glb")
    with pytest.raises(FileError, match=r"body\.glb: is a pipe or a device, not a file on a disk"):
        load_body(tmp_path / "body.glb")


def test_endless_device_behind_a_link_is_refused_at_once(tmp_path: Path) -> None:
    (tmp_path / "body.glb").symlink_to("/dev/zero")
    with pytest.raises(FileError, match=r"body\.glb: is a pipe or a device"):
        load_body(tmp_path / "body.glb")


def test_file_whose_name_is_misspelt_is_offered(tmp_path: Path) -> None:
    for name in ("guernsey.glb", "guernsey.toml", "oilskin.glb"):
        (tmp_path / name).write_text("x")
    with pytest.raises(FileError, match=r"guernsy\.glb: there is no such file\. Perhaps .*/guernsey\.glb was meant\."):
        read_bytes(tmp_path / "guernsy.glb")
    for name in ("smock.glb", "nowhere/guernsey.glb"):
        with pytest.raises(FileError, match=r"there is no such file\. Check the path\."):
            read_bytes(tmp_path / name)


def test_link_to_a_file_is_followed(tmp_path: Path) -> None:
    (tmp_path / "real").write_bytes(b"content")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    assert read_bytes(tmp_path / "link") == b"content"


def test_name_with_a_null_character_is_refused() -> None:
    with pytest.raises(FileError, match="cannot be read"):
        read_bytes(Path("a\0b.glb"))


@pytest.mark.parametrize("sort", ["indices", "positions", "joints"])
def test_accessor_without_data_is_refused_where_it_must_hold_some(sort: str, tmp_path: Path) -> None:
    made = cube()
    primitive = made.tree["meshes"][0]["primitives"][0]
    kinds: dict[str, Any] = {"indices": (5125, "SCALAR"), "positions": (5126, "VEC3"), "joints": (5121, "VEC4")}
    code, kind = kinds[sort]
    count = 8 if sort == "joints" else 99_999_999
    made.tree["accessors"].append({"componentType": code, "count": count, "type": kind})
    new = len(made.tree["accessors"]) - 1
    if sort == "indices":
        primitive["indices"] = new
    elif sort == "positions":
        primitive["attributes"]["POSITION"] = new
    else:
        primitive["attributes"] |= {"JOINTS_0": new, "WEIGHTS_0": made.accessor(np.ones((8, 4)))}
    with pytest.raises(FileError, match=r"without a buffer view|of memory; the limit is 2 GiB"):
        load_garment(made.save(tmp_path / "coat.glb"))


def test_few_indices_without_data_are_refused_too(tmp_path: Path) -> None:
    made = cube()
    made.tree["accessors"].append({"componentType": 5125, "count": 300_000, "type": "SCALAR"})
    made.tree["meshes"][0]["primitives"][0]["indices"] = len(made.tree["accessors"]) - 1
    with pytest.raises(FileError, match="indices: declares 300,000 elements without a buffer view"):
        load_garment(made.save(tmp_path / "coat.glb"))


def test_morph_target_without_data_moves_nothing(tmp_path: Path) -> None:
    made = cube()
    made.tree["accessors"].append({"componentType": 5126, "count": 8, "type": "VEC3"})
    made.tree["meshes"][0]["primitives"][0]["targets"] = [{"POSITION": len(made.tree["accessors"]) - 1}]
    body = load_body(made.save(tmp_path / "body.glb"), units="m", up="y").body
    np.testing.assert_array_equal(body.deltas, np.zeros((1, 8, 3)))


def test_one_mesh_drawn_by_many_nodes_counts_as_often_as_it_is_drawn(tmp_path: Path) -> None:
    made = cube()
    made.tree["nodes"] = [{"mesh": 0}] * 20_000
    made.tree["scenes"] = [{"nodes": list(range(20_000))}]
    told = r"meshes: would take .* of memory; the limit is 0\.06"
    with limited_memory(64 * MIB), pytest.raises(FileError, match=told):
        load_garment(made.save(tmp_path / "coat.glb"))


@pytest.mark.parametrize("name", ["body.gltf", "body.obj", "body.ply"])
def test_text_that_grows_when_it_is_parsed_is_refused_before(name: str, tmp_path: Path) -> None:
    tree = {"asset": {"version": "2.0"}, "nodes": [{}] * 1_000_000}
    texts = {
        "body.gltf": json.dumps(tree),
        "body.obj": "f 1 2 3\n" * 100_000,
        "body.ply": "ply\nformat ascii 1.0\nend_header\n" + "1 " * 400_000,
    }
    (tmp_path / name).write_text(texts[name])
    with limited_memory(64 * MIB), pytest.raises(FileError, match=r"of memory; the limit is 0\.0625 GiB"):
        load_body(tmp_path / name)


def grid(side: int, morphs: int) -> Gltf:
    """A sheet, split in two so that there is something to weld."""
    made = Gltf()
    x, y = np.meshgrid(np.linspace(-0.3, 0.3, side), np.linspace(0, 1, side))
    points = np.stack([x, y, 0 * x], axis=-1).reshape(-1, 3)
    corner = (np.arange(side - 1)[:, None] * side + np.arange(side - 1)).reshape(-1, 1)
    faces = np.concatenate([corner + np.array(step) for step in ((0, 1, side), (1, side + 1, side))])
    primitive: dict[str, Any] = {"attributes": {"POSITION": made.accessor(points)}}
    primitive["indices"] = made.accessor(faces.reshape(-1, 1), "u4")
    primitive["targets"] = [{"POSITION": made.accessor(points * 0.01)} for _ in range(morphs)]
    made.tree |= {"meshes": [{"primitives": [primitive]}], "nodes": [{"mesh": 0}], "scenes": [{"nodes": [0]}]}
    return made


@pytest.mark.parametrize(("side", "morphs"), [(300, 0), (150, 24)])
def test_what_is_counted_is_what_reading_takes(side: int, morphs: int, tmp_path: Path) -> None:
    """Never less than what is allocated, and not so much more that sound files are refused."""
    path = grid(side, morphs).save(tmp_path / "coat.glb")
    load_garment(cube().save(tmp_path / "warm.glb"), units="m")
    tracemalloc.start()
    load_garment(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    counted = mesh_bytes(side**2, 6 * (side - 1) ** 2, moved=side**2 * morphs)
    assert peak <= counted + 2 * path.stat().st_size
    assert counted <= 2.5 * peak


def test_limit_is_raised_for_a_block_only(tmp_path: Path) -> None:
    path = grid(400, 0).save(tmp_path / "coat.glb")
    with limited_memory(64 * MIB), pytest.raises(FileError, match=re.escape("or raise the limit")):
        load_garment(path)
    with limited_memory(512 * MIB):
        assert len(load_garment(path).garment.vertices) == 400**2
    assert memory_limit() == DEFAULT_MEMORY


def test_limit_too_small_for_any_file_is_refused() -> None:
    with pytest.raises(ArgumentError, match="set_memory_limit: `most` must be at least"):
        set_memory_limit(1)


def test_small_file_is_read_under_the_smallest_limit(tmp_path: Path) -> None:
    with limited_memory(64 * MIB):
        assert len(load_garment(cube().save(tmp_path / "a.glb"), units="m").garment.vertices) == len(CUBE)
