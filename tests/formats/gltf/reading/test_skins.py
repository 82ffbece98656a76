"""Skins: one skeleton, vertices where the scene shows them, posing exact whatever the file's own spaces."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.document import parse_document
from dressform.formats.gltf.read import read_scene
from gltf_files import CUBE, Gltf
from skinned_files import WEIGHTS, moved, skinned, spaces


def read(made: Gltf) -> FileMesh:
    return read_scene(parse_document(Path("made.glb"), made.glb()), 0)


def shown(made: Gltf, local: dict[str, np.ndarray]) -> np.ndarray:
    """Σ w·W·I·p by the standard's own words, with other local transforms for some joints."""
    nodes = made.tree["nodes"]
    matrices = {node["name"]: np.array(node["matrix"]).reshape(4, 4).T for node in nodes[:3]} | local
    hip = matrices["armature"] @ matrices["hip"]
    worlds = [hip @ matrices["knee"], hip]
    document = parse_document(Path("made.glb"), made.glb())
    view = document.gltf.buffer_views[-1]
    binds = np.frombuffer(document.buffers[0], "<f4", 32, view.byte_offset).reshape(2, 4, 4).transpose(0, 2, 1)
    points = np.pad(CUBE, ((0, 0), (0, 1)), constant_values=1.0)
    knee_weight, hip_weight = WEIGHTS[:, [1]], WEIGHTS[:, [0]]
    blended = knee_weight * (points @ (worlds[0] @ binds[0]).T) + hip_weight * (points @ (worlds[1] @ binds[1]).T)
    return blended[:, :3]


@pytest.mark.parametrize("made", spaces(), ids=["moderate", "armature in centimetres, Z-up"])
def test_skinned_vertices_stand_where_the_scene_shows_them(made: Gltf) -> None:
    mesh = read(made)
    np.testing.assert_allclose(mesh.vertices, shown(made, {}), atol=1e-7)
    assert mesh.skeleton is not None
    assert mesh.skeleton.names == ("hip", "knee")
    np.testing.assert_array_equal(mesh.skeleton.parents, [-1, 0])


@pytest.mark.parametrize("made", spaces(), ids=["moderate", "armature in centimetres, Z-up"])
@pytest.mark.parametrize("scale", [1.0, 0.01])
def test_posing_by_joints_equals_the_standards_sum(made: Gltf, scale: float) -> None:
    turn = np.array([[0.0, -1, 0, 0], [1, 0, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])
    knee = np.array(made.tree["nodes"][0]["matrix"]).reshape(4, 4).T
    mesh = read(made).turned(scale * np.eye(3))
    assert mesh.skeleton is not None
    assert mesh.skin is not None
    local = mesh.skeleton.rest.copy()
    local[1] = local[1] @ turn
    posed = mesh.skin.pose(mesh.vertices, mesh.skeleton.world(local) @ mesh.skeleton.inverse_bind)
    np.testing.assert_allclose(posed, scale * shown(made, {"knee": knee @ turn}), atol=1e-6)


def test_body_in_a_pose_is_read_in_its_bind_pose() -> None:
    hip, knee = moved(0, 0.5, 0), moved(0, 0.25, 0.1)
    bound = [np.linalg.inv(hip @ knee), np.linalg.inv(hip)]
    turn = np.array([[0.0, -1, 0, 0], [1, 0, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])
    made = skinned(armature=np.eye(4), hip=hip, knee=knee @ turn, binds=bound)
    mesh = read(made)
    np.testing.assert_allclose(mesh.vertices, CUBE, atol=1e-6)
    assert "another pose than the bind pose" in mesh.notes[0]
    assert mesh.skeleton is not None
    assert mesh.skin is not None
    posed = mesh.skin.pose(mesh.vertices, mesh.skeleton.world() @ mesh.skeleton.inverse_bind)
    np.testing.assert_allclose(posed, shown(made, {}), atol=1e-6)


def test_weights_are_normalised_and_bare_vertices_follow_the_first_joint() -> None:
    made = spaces()[0]
    weights = WEIGHTS * 0.5
    weights[3] = 0
    attributes = made.tree["meshes"][0]["primitives"][0]["attributes"]
    attributes["WEIGHTS_0"] = made.accessor(weights)
    mesh = read(made)
    assert mesh.skin is not None
    np.testing.assert_allclose(mesh.skin.weights.sum(axis=1), 1.0)
    np.testing.assert_allclose(mesh.skin.dense(2)[3], [1, 0])
    assert "1 vertices have no joint weights; they follow the first joint." in mesh.notes


def test_second_set_of_joints_counts_too() -> None:
    made = spaces()[0]
    attributes = made.tree["meshes"][0]["primitives"][0]["attributes"]
    attributes["JOINTS_1"] = made.accessor(np.zeros((8, 4)), "u2")
    attributes["WEIGHTS_1"] = made.accessor(np.tile([1, 0, 0, 0], (8, 1)))
    mesh = read(made)
    assert mesh.skin is not None
    np.testing.assert_allclose(mesh.skin.dense(2)[:, 1], (1 + WEIGHTS[:, 1]) / 2, atol=1e-7)


def test_rigid_mesh_under_a_joint_follows_it() -> None:
    made = spaces()[0]
    made.tree["meshes"].append({"primitives": [{"attributes": {"POSITION": 0}, "indices": 3}]})
    made.tree["nodes"][0]["children"] = [4]
    made.tree["nodes"].append({"mesh": 1, "name": "kneecap"})
    mesh = read(made)
    assert mesh.skin is not None
    np.testing.assert_array_equal(mesh.skin.dense(2)[8:], np.tile([0.0, 1.0], (8, 1)))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"joints": [0, 9]}, r"skins\[0\]: has joint node 9, which is not in the scene"),
        ({"joints": [0, 1, 2]}, "has 2 inverse bind matrices for 3 joints"),
        ({"joints": [0]}, r"JOINTS_0: names joint 1 of 1"),
        ({"inverseBindMatrices": 0}, "is of type VEC3, not MAT4"),
    ],
)
def test_damaged_skin_is_refused(change: dict[str, object], message: str) -> None:
    made = spaces()[0]
    made.tree["skins"][0].update(change)
    with pytest.raises(FileError, match=message):
        read(made)


def test_node_without_its_skin_is_refused() -> None:
    made = spaces()[0]
    made.tree["nodes"][3]["skin"] = 4
    with pytest.raises(FileError, match="name skin 4 of 1"):
        read(made)


def test_bind_matrix_without_an_inverse_is_refused() -> None:
    made = spaces()[0]
    made.tree["skins"][0]["inverseBindMatrices"] = made.accessor(np.zeros((2, 16)))
    with pytest.raises(FileError, match="without an inverse at joint 0"):
        read(made)


def test_bind_matrix_beyond_all_bounds_is_refused() -> None:
    made = spaces()[0]
    far = np.tile(np.diag([1e30, 1e-30, 1.0, 1.0]).ravel(), (2, 1))
    made.tree["skins"][0]["inverseBindMatrices"] = made.accessor(far)
    with pytest.raises(FileError, match="an inverse bind matrix that leads out of all bounds at joint 0"):
        read(made)
