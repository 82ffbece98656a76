"""Animations of joints, read from a body's glTF [glTF2 3.11]."""

from dataclasses import replace

import numpy as np
from jaxtyping import Float

from dressform.body.pose import CUBIC, MODES, PATHS, ROTATION, SCALE, TRANSLATION, Animation, NodeTree, Track
from dressform.body.skeleton import Skeleton
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.reading.scene import SceneTree, walk
from dressform.formats.gltf.reading.skins import read_skins
from dressform.formats.gltf.schema import AnimationSampler, GltfAnimation, Node

TYPES = {TRANSLATION: "VEC3", ROTATION: "VEC4", SCALE: "VEC3"}
NO_TURN, NO_SCALE, NO_MOVE = (0.0, 0.0, 0.0, 1.0), (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)
KEYS_PER_MOMENT = 3  # of a cubic spline: in-tangent, value, out-tangent


def animations_of(
    document: Document, stored: FileMesh, skeleton: Skeleton | None, linear: Float[np.ndarray, "3 3"]
) -> tuple[Animation, ...]:
    """Animations of a glTF that move joints of a body, or nodes above them; see `joint_tracks.read_animations`.

    Args:
        document: The glTF.
        stored: The body as the file has it; tells its scene.
        skeleton: The joints.
        linear: From the file's scene to metres, +Y up.

    Raises:
        FileError: a channel or sampler is damaged; file, place and problem in one line.
    """
    if skeleton is None:
        return ()
    tree = replace(walk(document, stored.scene), chosen=stored.chosen)
    nodes = {node: rank for rank, node in enumerate(tree.worlds)}
    rest = _node_tree(document, tree, nodes, linear)
    found = []
    for number, one in enumerate(document.gltf.animations):
        tracks = _tracks(document, one, f"animations[{number}]", nodes, rest)
        if tracks:
            found.append(Animation(one.name or f"animation {number + 1}", rest, tracks))
    return tuple(found)


def _node_tree(
    document: Document, tree: SceneTree, nodes: dict[int, int], linear: Float[np.ndarray, "3 3"]
) -> NodeTree:
    """The scene's nodes at rest, and which of them is which joint of the skeleton."""
    stored = [document.gltf.nodes[node] for node in nodes]
    frame = np.eye(4)
    frame[:3, :3] = linear
    return NodeTree(
        parents=np.array([nodes.get(tree.parents[node], -1) for node in nodes], dtype=np.int64),
        translations=np.array([node.translation or NO_MOVE for node in stored], dtype=np.float64),
        rotations=np.array([node.rotation or NO_TURN for node in stored], dtype=np.float64),
        scales=np.array([node.scale or NO_SCALE for node in stored], dtype=np.float64),
        matrices=np.stack([_matrix(node) for node in stored]),
        fixed=np.array([node.matrix is not None for node in stored], dtype=bool),
        joints=_joint_nodes(document, tree, nodes),
        frame=frame,
    )


def _matrix(node: Node) -> Float[np.ndarray, "4 4"]:
    return np.eye(4) if node.matrix is None else np.array(node.matrix, dtype=np.float64).reshape(4, 4).T


def _joint_nodes(document: Document, tree: SceneTree, nodes: dict[int, int]) -> np.ndarray:
    """Node of each joint of the skeleton, which is put together from all skins of the scene."""
    _, spaces = read_skins(document, tree)
    count = 1 + max(int(space.joints.max()) for space in spaces.values())
    of_joint = np.zeros(count, dtype=np.int64)
    for index, space in spaces.items():
        of_joint[space.joints] = [nodes[node] for node in document.gltf.skins[index].joints]
    return of_joint


def _tracks(
    document: Document, stored: GltfAnimation, place: str, nodes: dict[int, int], rest: NodeTree
) -> tuple[Track, ...]:
    """What of an animation moves nodes of this scene."""
    tracks = []
    for rank, channel in enumerate(stored.channels):
        node, path = channel.target.node, channel.target.path
        if node is None or node not in nodes or path not in PATHS or rest.fixed[nodes[node]]:
            continue
        where = f"{place}.channels[{rank}]"
        if channel.sampler >= len(stored.samplers):
            raise document.error(where, f"names sampler {channel.sampler} of {len(stored.samplers)}")
        tracks.append(_track(document, stored.samplers[channel.sampler], where, nodes[node], path))
    return tuple(tracks)


def _track(document: Document, sampler: AnimationSampler, place: str, node: int, path: str) -> Track:
    if sampler.interpolation not in MODES:
        raise document.error(place, f"interpolates by {sampler.interpolation!r}, not by one of {', '.join(MODES)}")
    times = read_floats(document, sampler.input, place, ("SCALAR",), in_buffer=True)[:, 0]
    values = read_floats(document, sampler.output, place, (TYPES[path],), in_buffer=True)
    if np.any(np.diff(times) <= 0):
        raise document.error(place, "has keys whose times do not rise")
    per_moment = KEYS_PER_MOMENT if sampler.interpolation == CUBIC else 1
    if len(values) != per_moment * len(times):
        raise document.error(place, f"has {len(values)} values for {len(times)} keys")
    if path == ROTATION:
        turns = values[1::KEYS_PER_MOMENT] if sampler.interpolation == CUBIC else values
        lengths = np.linalg.norm(turns, axis=1, keepdims=True)
        if not lengths.all():
            raise document.error(place, "has a rotation without length")
        turns /= lengths  # in place: a view of `values`
    return Track(node, path, times, values, sampler.interpolation)
