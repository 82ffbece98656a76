"""Damaged scenes and unknown names are refused with what to do."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import ArgumentError, FileError
from dressform.formats.load import load_bodies, load_body
from gltf_files import Gltf, cube
from gltf_scenes import morphing_cube, read


def spoilt(change: str) -> Gltf:
    """A morphing cube that is wrong in the way named."""
    made = morphing_cube(names=["up", "corner"])
    tree, mesh = made.tree, made.tree["meshes"][0]
    primitive = mesh["primitives"][0]
    if change == "self":
        tree["nodes"][0]["children"] = [0]
    elif change == "cycle":
        tree["nodes"] = [{"children": [1]}, {"children": [0], "mesh": 0}]
    elif change == "two parents":
        tree["nodes"] = [{"children": [1, 1]}, {"mesh": 0}]
    elif change == "all children":
        tree["nodes"] = [{"children": [1]}, {"children": [0], "mesh": 0}]
        del tree["scenes"]
    elif change == "child":
        tree["nodes"][0]["children"] = [9]
    elif change == "root":
        tree["scenes"] = [{"nodes": [4]}]
    elif change == "mesh":
        tree["nodes"][0]["mesh"] = 3
    elif change == "flat":
        tree["nodes"][0]["scale"] = [1, 0, 1]
    elif change == "far":
        tree["nodes"] = [{"scale": [1e200] * 3, "children": [1]}, {"scale": [1e200] * 3, "mesh": 0}]
    elif change == "rotation":
        tree["nodes"][0]["rotation"] = [0, 0, 0, 0]
    elif change == "index":
        primitive["indices"] = made.accessor([0, 1, 99], "u2")
    elif change == "threes":
        primitive["indices"] = made.accessor([0, 1, 2, 3], "u2")
    elif change == "morph count":
        primitive["targets"][1] = {"POSITION": made.accessor(np.zeros((7, 3)))}
    elif change == "attribute count":
        primitive["attributes"]["NORMAL"] = made.accessor(np.zeros((5, 3)))
    elif change == "target counts":
        mesh["primitives"].append({**primitive, "targets": primitive["targets"][:1]})
    elif change == "weights":
        mesh["weights"] = [0.0]
    elif change == "no faces":
        mesh["primitives"] = [{"attributes": primitive["attributes"], "mode": 0}]
    elif change == "joints alone":
        primitive["attributes"]["JOINTS_0"] = made.accessor(np.zeros((8, 4)), "u1")
    return made


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("self", r"nodes\[0\]: is reached twice: it is its own ancestor"),
        ("cycle", r"nodes\[0\]: is reached twice"),
        ("two parents", r"nodes\[1\]: is reached twice: .* two parents"),
        ("all children", "have no root"),
        ("child", r"nodes\[0\]\.children: names node 9 of 1"),
        ("root", "scenes: names node 4 of 1"),
        ("mesh", r"nodes\[0\]\.mesh: names mesh 3 of 1"),
        ("flat", r"nodes\[0\]: has a transform that flattens its mesh"),
        ("far", r"nodes\[0\]: has a transform that leads out of all bounds"),
        ("rotation", "no unit quaternion"),
        ("index", r"primitives\[0\]\.indices: names vertex 99 of 8 at index 2"),
        ("threes", "has 4 indices, no multiple of 3"),
        ("morph count", r"targets\[1\]: moves 7 vertices, the base has 8"),
        ("attribute count", "NORMAL: has 5 elements for 8 positions"),
        ("target counts", r"meshes\[0\]: has primitives with 1 and 2 morph targets"),
        ("weights", "has 1 default weights for 2 morph targets"),
        ("no faces", "meshes: hold no triangles"),
        ("joints alone", "has JOINTS_0 but no WEIGHTS_0"),
    ],
)
def test_damaged_scene_is_refused(change: str, message: str) -> None:
    with pytest.raises(FileError, match=message):
        read(spoilt(change))


def test_repeated_instances_that_would_fill_the_memory_are_refused() -> None:
    made = Gltf()
    position = made.accessor(np.zeros((60_000, 3)))
    made.tree["meshes"] = [{"primitives": [{"attributes": {"POSITION": position}}]}]
    made.tree["nodes"] = [{"mesh": 0} for _ in range(2000)]
    made.tree["scenes"] = [{"nodes": list(range(2000))}]
    with pytest.raises(FileError, match="the limit is 2 GiB"):
        read(made)


def test_unknown_base_lists_scenes_nodes_and_meshes(tmp_path: Path) -> None:
    made = cube(scale=1.7)
    made.tree["nodes"].append({"name": "shoe", "mesh": 0})
    made.tree["scenes"] = [{"nodes": [0, 1], "name": "woman"}, {"nodes": [1], "name": "man"}]
    path = made.save(tmp_path / "body.glb")
    assert [file.body.name for file in load_bodies(path)] == ["woman", "man"]
    with pytest.raises(ArgumentError, match=r"a scene of .*: woman, man, or a node or mesh: cube, shoe, got 'child'"):
        load_body(path, base="child")
    del made.tree["nodes"][1]
    made.tree["scenes"] = [{"nodes": [0], "name": "woman"}]  # a node that is all of a scene is told by the scene
    with pytest.raises(ArgumentError, match=r"a scene of .*: woman, got 'child'"):
        load_body(made.save(path), base="child")


def test_scene_without_triangles_is_no_base_body(tmp_path: Path) -> None:
    made = cube(scale=1.7)
    made.tree["nodes"].append({"name": "lamp"})
    made.tree["scenes"] = [{"nodes": [1], "name": "light"}, {"nodes": [0], "name": "keeper"}]
    path = made.save(tmp_path / "body.glb")
    assert [file.body.name for file in load_bodies(path)] == ["keeper"]
    made.tree["scenes"] = [{"nodes": [1]}]
    with pytest.raises(FileError, match="show no triangles"):
        load_bodies(made.save(tmp_path / "lamp.glb"))
