"""Small skinned glTF files for tests."""

from pathlib import Path

import numpy as np

from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import read_document
from gltf_files import CUBE, CUBE_FACES, Gltf

SMALL = np.diag([0.01, 0.01, 0.01, 1.0])
Z_UP = np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]])
WEIGHTS = np.stack([np.linspace(0, 1, 8), np.linspace(1, 0, 8), np.zeros(8), np.zeros(8)], axis=1)


def moved(x: float, y: float, z: float) -> np.ndarray:
    matrix = np.eye(4)
    matrix[:3, 3] = (x, y, z)
    return matrix


def columns(matrix: np.ndarray) -> list[float]:
    return [float(value) for value in matrix.T.ravel()]


def skinned(*, armature: np.ndarray, hip: np.ndarray, knee: np.ndarray, binds: list[np.ndarray]) -> Gltf:
    """A cube on two joints under an armature node; the child comes before its parent in the node list."""
    made = Gltf()
    attributes = {
        "POSITION": made.accessor(CUBE),
        "JOINTS_0": made.accessor(np.tile([1, 0, 0, 0], (8, 1)), "u1"),
        "WEIGHTS_0": made.accessor(WEIGHTS),
    }
    indices = made.accessor(CUBE_FACES.reshape(-1, 1), "u2")
    inverse = made.accessor(np.stack([bind.T.ravel() for bind in binds]))
    made.tree["meshes"] = [{"primitives": [{"attributes": attributes, "indices": indices}]}]
    made.tree["nodes"] = [
        {"name": "knee", "matrix": columns(knee)},
        {"name": "hip", "matrix": columns(hip), "children": [0]},
        {"name": "armature", "matrix": columns(armature), "children": [1, 3]},
        {"name": "body", "mesh": 0, "skin": 0, "translation": [50, 50, 50]},
    ]
    made.tree["skins"] = [{"joints": [0, 1], "inverseBindMatrices": inverse}]
    made.tree["scenes"] = [{"nodes": [2]}]
    return made


def spaces() -> list[Gltf]:
    hip, knee = moved(0, 0.5, 0), moved(0, 0.25, 0.1)
    bound = [np.linalg.inv(hip @ knee), np.linalg.inv(hip)]
    return [
        skinned(armature=np.eye(4), hip=hip, knee=knee, binds=bound),
        skinned(armature=Z_UP @ SMALL, hip=hip, knee=knee, binds=bound),
    ]


def trs(made: Gltf, node: int, **parts: list[float]) -> None:
    """Give a node a translation, rotation and scale instead of its matrix."""
    made.tree["nodes"][node].pop("matrix", None)
    made.tree["nodes"][node] |= parts


def animate(made: Gltf, node: int | None, path: str, times: list[float], values: object, **sampler: object) -> Gltf:
    """One animation more, of one channel."""
    entry = {"input": made.accessor(np.array(times)), "output": made.accessor(np.array(values)), **sampler}
    target = {"path": path} if node is None else {"path": path, "node": node}
    channel = {"sampler": 0, "target": target}
    made.tree.setdefault("animations", []).append({"channels": [channel], "samplers": [entry]})
    return made


def standing() -> Gltf:
    """A cube on two joints that stand in metres."""
    hip, knee = moved(0, 0.5, 0), moved(0, 0.25, 0.1)
    made = skinned(armature=np.eye(4), hip=hip, knee=knee, binds=[np.linalg.inv(hip @ knee), np.linalg.inv(hip)])
    trs(made, 1, translation=[0, 0.5, 0])
    trs(made, 0, translation=[0, 0.25, 0.1])
    return made


def join_animations(made: Gltf) -> Gltf:
    """All animations as one with several channels."""
    joined: dict[str, list[dict[str, object]]] = {"channels": [], "samplers": []}
    for one in made.tree["animations"]:
        joined["channels"] += [{**channel, "sampler": len(joined["samplers"])} for channel in one["channels"]]
        joined["samplers"] += one["samplers"]
    made.tree["animations"] = [joined]
    return made


def moving_file(path: Path) -> Path:
    """Give the GLB of a body an animation of the first joint of its first skin: a nod of a second's length."""
    document = read_document(path)
    builder = Builder.of(document)
    node = document.gltf.skins[0].joints[-1]
    turns = np.array([[0.0, 0.0, 0.0, 1.0], [0.0, 0.0, np.sin(0.25), np.cos(0.25)]])
    sampler = {"input": builder.add_values(np.array([[0.0], [1.0]])), "output": builder.add_values(turns)}
    builder.table("animations").append(
        {
            "name": "nod",
            "channels": [{"sampler": 0, "target": {"node": node, "path": "rotation"}}],
            "samplers": [sampler],
        }
    )
    path.write_bytes(builder.glb())
    return path
