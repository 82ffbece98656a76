"""Joints that follow morphs: the posed mesh is that of a skeleton built anew at each shape."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance, carry
from dressform.body.stances.following_joints import joint_offsets
from dressform.body.stances.turns import about, modelled_worlds, worlds_of
from skeletons import keeper, remodelled


def rebuilt(weights: np.ndarray, moves: np.ndarray) -> Skeleton:
    """The keeper's skeleton with every joint where a shape puts it."""
    worlds = modelled_worlds(keeper()).copy()
    worlds[:, :3, 3] += np.tensordot(weights, moves, axes=1)
    return remodelled(keeper(), worlds)


@settings(max_examples=10)
@given(st.integers(0, 2**31 - 1))
def test_offsets_are_what_a_skeleton_built_at_each_shape_gives(seed: int) -> None:
    """The second way turns the rebuilt skeleton and blends its transforms over the morphed points."""
    rng = np.random.default_rng(seed)
    count = len(keeper().names)
    moves = 0.05 * rng.normal(size=(2, count, 3))
    points, deltas = rng.normal(size=(25, 3)), 0.1 * rng.normal(size=(2, 25, 3))
    skin = Skin(rng.integers(0, count, size=(25, 4)), rng.dirichlet((1, 1, 1, 1), size=25))
    turns = {int(joint): about(rng.normal(size=3), 80) for joint in rng.choice(count, 8, replace=False)}
    stance = Stance("turned", worlds_of(keeper(), turns))
    maps, offsets = stance.maps(skin, keeper()), joint_offsets(stance, skin, keeper(), moves)
    weights = rng.uniform(-1, 1, size=2)
    shape = points + np.tensordot(weights, deltas, axes=1)
    found = carry(maps, shape) + np.tensordot(weights, offsets, axes=1)
    there = rebuilt(weights, moves)
    assert np.abs(found - skin.pose(shape, worlds_of(there, turns) @ there.inverse_bind)).max() < 1e-12


def test_without_a_turn_joints_that_follow_move_nothing() -> None:
    count = len(keeper().names)
    skin = Skin(np.arange(count)[:, None], np.ones((count, 1)))
    moves = np.random.default_rng(1).normal(size=(3, count, 3))
    still = Stance("as modelled", modelled_worlds(keeper()))
    assert np.abs(joint_offsets(still, skin, keeper(), moves)).max() < 1e-12
