"""Skeletons of a person for tests: the demo's, in other modelled poses, with other axes, names and joints between."""

from functools import cache

import numpy as np
from scipy.spatial.transform import Rotation

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stances.turns import about, mirrored, modelled_worlds, worlds_of
from dressform.demo.body_anatomy import build
from dressform.demo.skeleton import skeleton_of

FACES = np.array([[0, 1, 2], [0, 3, 1], [0, 2, 3], [1, 3, 2]])


@cache
def keeper() -> Skeleton:
    """The woman's skeleton: modelled with her arms about 45° out."""
    return skeleton_of(build("woman"))


def remodelled(skeleton: Skeleton, worlds: np.ndarray) -> Skeleton:
    """The skeleton of a body that is modelled where these transforms put its joints."""
    local = worlds.copy()
    below = np.flatnonzero(skeleton.parents >= 0)
    local[below] = np.linalg.inv(worlds[skeleton.parents[below]]) @ worlds[below]
    return Skeleton(skeleton.names, skeleton.parents, local, np.linalg.inv(worlds))


def arms_out(degrees: float) -> Skeleton:
    """The keeper modelled with her arms that much higher."""
    turn = about((0, 0, 1), degrees)
    left, right = (keeper().names.index(f"upper_arm_{side}") for side in "lr")
    return remodelled(keeper(), worlds_of(keeper(), {left: turn, right: mirrored(turn)}))


def with_odd_axes(skeleton: Skeleton, *, seed: int) -> Skeleton:
    """The same joints at the same places, the axes of each turned at random."""
    worlds = modelled_worlds(skeleton).copy()
    worlds[:, :3, :3] = Rotation.random(len(worlds), rng=np.random.default_rng(seed)).as_matrix()
    return remodelled(skeleton, worlds)


def renamed(skeleton: Skeleton, names: tuple[str, ...]) -> Skeleton:
    return Skeleton(names, skeleton.parents, skeleton.rest, skeleton.inverse_bind)


def with_twists(skeleton: Skeleton, *, name: str) -> Skeleton:
    """A joint more in the middle of each upper arm, forearm and thigh, in the chain; `name` takes a number."""
    below = [f"{bone}_{side}" for bone in ("forearm", "hand", "shin") for side in "lr"]
    worlds, names, parents = list(modelled_worlds(skeleton)), list(skeleton.names), list(skeleton.parents)
    for number, one in enumerate(below):
        joint = names.index(one)
        middle = worlds[joint].copy()
        middle[:3, 3] = (worlds[joint][:3, 3] + worlds[parents[joint]][:3, 3]) / 2
        names.insert(joint, name.format(number))
        worlds.insert(joint, middle)
        parents = [parent + (parent >= joint) for parent in parents]
        parents.insert(joint, parents[joint])
        parents[joint + 1] = joint
    return remodelled(Skeleton(tuple(names), np.array(parents), np.array(worlds), np.array(worlds)), np.array(worlds))


def with_chains(skeleton: Skeleton, chains: dict[str, tuple[str, np.ndarray]]) -> Skeleton:
    """Joints more: chains by name, each hanging from a joint, at places in the world, (N, 3)."""
    worlds, names, parents = list(modelled_worlds(skeleton)), list(skeleton.names), list(skeleton.parents)
    for chain, (parent, places) in chains.items():
        above = names.index(parent)
        for number, place in enumerate(places):
            world = np.eye(4)
            world[:3, 3] = place
            worlds.append(world)
            names.append(f"{chain}_{number}")
            parents.append(above)
            above = len(names) - 1
    return remodelled(Skeleton(tuple(names), np.array(parents), np.array(worlds), np.array(worlds)), np.array(worlds))


def jointed_body(skeleton: Skeleton | None = None) -> Body:
    """A small solid at each joint, rigid on it; one morph makes it all taller, one wider."""
    whole = keeper() if skeleton is None else skeleton
    places = modelled_worlds(whole)[:, :3, 3]
    corners = 0.01 * np.array([[1.0, 1, 1], [-1, -1, 1], [-1, 1, -1], [1, -1, -1]])
    vertices = (places[:, None] + corners[None]).reshape(-1, 3)
    faces = np.concatenate([FACES + 4 * joint for joint in range(len(places))])
    names = ("tall", "wide")
    deltas = np.stack([vertices * (0, 0.1, 0), vertices * (0.1, 0, 0.1)])
    joints = np.repeat(np.arange(len(places)), 4)[:, None] * np.array([1, 0, 0, 0])
    skin = Skin(joints, np.tile([1.0, 0, 0, 0], (len(vertices), 1)))
    return Body("keeper", vertices, faces, names, deltas, Range.unit(names), whole, skin)
