"""Poses: joints turned by hand or by an animation, and the skin that follows them by linear blend skinning."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Float32, Int
from scipy.sparse import csr_array
from scipy.spatial.transform import Rotation

from dressform.body.skeleton import Skeleton, Skin
from dressform.calls import likely
from dressform.errors import ArgumentError

TRANSLATION, ROTATION, SCALE = "translation", "rotation", "scale"
PATHS = (TRANSLATION, ROTATION, SCALE)
STEP, LINEAR, CUBIC = "STEP", "LINEAR", "CUBICSPLINE"
MODES = (STEP, LINEAR, CUBIC)
NO_TURN = 1e-6
"""What a joint's transform may differ from a turn, or from none: rounding in a file."""
NEARLY_PARALLEL = 1e-6
"""Quaternions whose cosine is nearer to 1 than this are mixed straight: the arc has no length to divide by."""


@dataclass(frozen=True)
class Track:
    """One property of one node over time [glTF2 3.11].

    Attributes:
        node: Node of the tree.
        path: One of `PATHS`.
        times: Moments of the keys, rising, (T,), seconds.
        values: Value at each key, (T, W); for `CUBICSPLINE` in-tangent, value and out-tangent of each, (3 T, W).
        mode: One of `MODES`.
    """

    node: int
    path: str
    times: Float[np.ndarray, " T"]
    values: Float[np.ndarray, "N W"]
    mode: str = LINEAR

    def at(self, time: float) -> Float[np.ndarray, " W"]:
        """The value at a moment; before the first key and after the last it stays."""
        after = int(np.searchsorted(self.times, time, side="right"))
        if after == 0 or after == len(self.times):
            return self._key(max(after - 1, 0))
        if self.mode == STEP:
            return self._key(after - 1)
        span = float(self.times[after] - self.times[after - 1])
        share = (time - float(self.times[after - 1])) / span
        if self.mode == CUBIC:
            mixed = self._hermite(after - 1, share, span)
            return mixed / np.linalg.norm(mixed) if self.path == ROTATION else mixed
        first, second = self._key(after - 1), self._key(after)
        return slerp(first, second, share) if self.path == ROTATION else (1 - share) * first + share * second

    def _key(self, index: int) -> Float[np.ndarray, " W"]:
        return self.values[3 * index + 1 if self.mode == CUBIC else index]

    def _hermite(self, index: int, share: float, span: float) -> Float[np.ndarray, " W"]:
        """Cubic spline between two keys [glTF2 appendix C]."""
        start, leave = self.values[3 * index + 1], self.values[3 * index + 2]
        arrive, end = self.values[3 * index + 3], self.values[3 * index + 4]
        square, cube = share**2, share**3
        return (
            (2 * cube - 3 * square + 1) * start
            + span * (cube - 2 * square + share) * leave
            + (-2 * cube + 3 * square) * end
            + span * (cube - square) * arrive
        )


def slerp(first: Float[np.ndarray, "4"], second: Float[np.ndarray, "4"], share: float) -> Float[np.ndarray, "4"]:
    """Interpolate between two unit quaternions along the shorter arc, at even speed [glTF2 appendix C]."""
    cosine = float(first @ second)
    near = second if cosine >= 0 else -second
    angle = float(np.arccos(min(abs(cosine), 1.0)))
    if 1.0 - abs(cosine) < NEARLY_PARALLEL:
        mixed = (1 - share) * first + share * near
        return mixed / np.linalg.norm(mixed)
    return (np.sin((1 - share) * angle) * first + np.sin(share * angle) * near) / np.sin(angle)


@dataclass(frozen=True)
class NodeTree:
    """The tree of nodes that holds the joints, at rest, in the units and axes of their file.

    Attributes:
        parents: Parent of each node, -1 at the roots; a parent precedes its children, (N,).
        translations: (N, 3).
        rotations: Unit quaternions x, y, z, w, (N, 4).
        scales: (N, 3).
        matrices: Transforms of nodes that are given as a matrix, (N, 4, 4).
        fixed: Nodes given as a matrix, which nothing animates, (N,).
        joints: Node of each joint of the skeleton, (J,).
        frame: From the file's scene to metres, +Y up: a rotation and a uniform scale, (4, 4).
    """

    parents: Int[np.ndarray, " N"]
    translations: Float[np.ndarray, "N 3"]
    rotations: Float[np.ndarray, "N 4"]
    scales: Float[np.ndarray, "N 3"]
    matrices: Float[np.ndarray, "N 4 4"]
    fixed: Bool[np.ndarray, " N"]
    joints: Int[np.ndarray, " J"]
    frame: Float[np.ndarray, "4 4"]

    def joint_worlds(self, changes: Sequence[tuple[int, str, Float[np.ndarray, " _"]]]) -> Float[np.ndarray, "J 4 4"]:
        """Joint-to-world transforms, metres, with some properties of some nodes changed, (J, 4, 4)."""
        placed = {TRANSLATION: self.translations.copy(), ROTATION: self.rotations.copy(), SCALE: self.scales.copy()}
        for node, path, value in changes:
            placed[path][node] = value
        worlds = _transforms(placed[TRANSLATION], placed[ROTATION], placed[SCALE])
        worlds[self.fixed] = self.matrices[self.fixed]
        for node, parent in enumerate(self.parents):
            if parent >= 0:
                worlds[node] = worlds[parent] @ worlds[node]
        size = float(np.cbrt(np.linalg.det(self.frame[:3, :3])))
        return self.frame @ worlds[self.joints] @ np.diag([1 / size, 1 / size, 1 / size, 1.0])


@dataclass(frozen=True)
class Animation:
    """An animation of joints.

    Attributes:
        name: What a person reads.
        tree: The nodes that it moves.
        tracks: What moves how; at least one.
    """

    name: str
    tree: NodeTree
    tracks: tuple[Track, ...]

    @cached_property
    def times(self) -> Float[np.ndarray, " T"]:
        """Every moment at which anything has a key, seconds, (T,)."""
        return np.unique(np.concatenate([track.times for track in self.tracks]))

    @property
    def duration(self) -> float:
        """The last key, seconds."""
        return float(self.times[-1])

    def worlds(self, time: float) -> Float[np.ndarray, "J 4 4"]:
        """Joint-to-world transforms at a moment, metres, (J, 4, 4).

        Proof: tests/outside/test_three_plays_it.py::test_three_plays_an_animation_as_we_do
        """
        return self.tree.joint_worlds([(track.node, track.path, track.at(time)) for track in self.tracks])


def turned_worlds(skeleton: Skeleton, turns: Mapping[str, Sequence[float]]) -> Float[np.ndarray, "J 4 4"]:
    """Joint-to-world transforms after joints are turned from rest by quaternions x, y, z, w, (J, 4, 4).

    Raises:
        ArgumentError: a name is no joint (the valid ones are listed), or a quaternion has no length.
    """
    local = skeleton.rest.copy()
    for name, turn in turns.items():
        if name not in skeleton.names:
            rule = f"named as the joints: {', '.join(skeleton.names)}"
            raise ArgumentError.of("turned_worlds", "turns", rule, repr(name), likely(name, skeleton.names))
        quaternion = np.array(turn, dtype=np.float64)
        length = float(np.linalg.norm(quaternion))
        if not (np.isfinite(length) and length > 0):
            raise ArgumentError.of("turned_worlds", "turns", "finite and not zero", list(turn), "Give x, y, z, w")
        joint = skeleton.names.index(name)
        local[joint] = local[joint] @ _transforms(np.zeros((1, 3)), quaternion[None] / length, np.ones((1, 3)))[0]
    return skeleton.world(local)


def turns_of(
    skeleton: Skeleton, worlds: Float[np.ndarray, "J 4 4"]
) -> dict[str, tuple[float, float, float, float]] | None:
    """The turns, as quaternions x, y, z, w, that make `turned_worlds` give these transforms; None where turns cannot.

    Joints that do not turn are left out.
    """
    back = np.linalg.inv(worlds)
    turns: dict[str, tuple[float, float, float, float]] = {}
    for joint, (name, parent) in enumerate(zip(skeleton.names, skeleton.parents)):
        local = worlds[joint] if parent < 0 else back[parent] @ worlds[joint]
        turn = np.linalg.inv(skeleton.rest[joint]) @ local
        if np.abs(turn[:3, :3].T @ turn[:3, :3] - np.eye(3)).max() > NO_TURN or np.abs(turn[:3, 3]).max() > NO_TURN:
            return None
        if np.abs(turn - np.eye(4)).max() > NO_TURN:
            x, y, z, w = Rotation.from_matrix(turn[:3, :3]).as_quat()
            turns[name] = (float(x), float(y), float(z), float(w))
    return turns


class Poser:
    """A skin laid out for speed: poses float32 vertices by linear blend skinning in one sparse product.

    Agrees with `Skin.pose` to 1e-5 m. Proof: tests/body/test_pose.py::test_posing_fast_agrees_with_the_skin
    """

    def __init__(self, skin: Skin, inverse_bind: Float[np.ndarray, "J 4 4"]) -> None:
        vertices, slots = np.nonzero(skin.weights)
        weights = skin.weights[vertices, slots].astype(np.float32)
        shape = (len(skin.weights), len(inverse_bind))
        self._weights = csr_array((weights, (vertices, skin.joints[vertices, slots])), shape=shape)
        self._inverse_bind = inverse_bind

    def at(
        self, vertices: Float32[np.ndarray, "V 3"], worlds: Float[np.ndarray, "J 4 4"]
    ) -> Float32[np.ndarray, "V 3"]:
        """Where the vertices stand when the joints stand at `worlds`, (V, 3), metres."""
        transforms = (worlds @ self._inverse_bind)[:, :3].astype(np.float32)
        blended = (self._weights @ transforms.reshape(len(transforms), 12)).reshape(-1, 3, 4)
        posed: Float32[np.ndarray, "V 3"] = blended[:, :, 3] + blended[:, :, 0] * vertices[:, 0, None]
        for axis in (1, 2):
            posed += blended[:, :, axis] * vertices[:, axis, None]
        return posed


def _transforms(
    translations: Float[np.ndarray, "N 3"], rotations: Float[np.ndarray, "N 4"], scales: Float[np.ndarray, "N 3"]
) -> Float[np.ndarray, "N 4 4"]:
    """Translation · rotation · scale of each, (N, 4, 4)."""
    x, y, z, w = (rotations / np.linalg.norm(rotations, axis=1, keepdims=True)).T
    turns = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    ).transpose(2, 0, 1)
    matrices = np.tile(np.eye(4), (len(translations), 1, 1))
    matrices[:, :3, :3] = turns * scales[:, None, :]
    matrices[:, :3, 3] = translations
    return matrices
