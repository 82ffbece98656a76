"""The moments that stand for an animation: known ones where they are known, a covering distance always."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.body.pose import LINEAR, ROTATION, SCALE, TRANSLATION, Animation, NodeTree, Track
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stances.moments import MOST_MOMENTS, NEAR_ENOUGH, animated_stances, chosen_moments

PLACES = np.array([[0, 0, 0], [0, 0.5, 0], [0, 0.5, 0]], dtype=float)


def limb() -> Skeleton:
    """Three joints in a row, half a metre apart."""
    rest = np.tile(np.eye(4), (3, 1, 1))
    rest[:, :3, 3] = PLACES
    worlds = np.stack([rest[0], rest[0] @ rest[1], rest[0] @ rest[1] @ rest[2]])
    return Skeleton(("hip", "knee", "ankle"), np.array([-1, 0, 1]), rest, np.linalg.inv(worlds))


def played(*tracks: Track) -> Animation:
    tree = NodeTree(
        parents=np.array([-1, 0, 1]),
        translations=PLACES,
        rotations=np.tile([0.0, 0, 0, 1], (3, 1)),
        scales=np.ones((3, 3)),
        matrices=np.tile(np.eye(4), (3, 1, 1)),
        fixed=np.zeros(3, dtype=bool),
        joints=np.arange(3),
        frame=np.eye(4),
    )
    return Animation("kick", tree, tracks)


def about_x(*degrees: float) -> np.ndarray:
    half = np.deg2rad(degrees) / 2
    return np.stack([np.sin(half), 0 * half, 0 * half, np.cos(half)], axis=1)


def bend(node: int, times: list[float], *degrees: float) -> Track:
    return Track(node, ROTATION, np.array(times), about_x(*degrees), LINEAR)


def test_bend_and_back_is_its_far_end_and_what_lies_half_way() -> None:
    chosen = chosen_moments(played(bend(1, [0.0, 1.0, 2.0], 0, 80, 0)), limb())
    bends = 80 * (1 - np.abs(chosen.times - 1))
    # The far end first, then half-way to it, then half-way between those: at a thirtieth of a second, 2.7° apart.
    assert np.sort(bends) == pytest.approx([20, 40, 60, 80], abs=1.4)
    assert bends.max() == 80


@settings(max_examples=20)
@given(st.integers(0, 2**31 - 1))
def test_every_moment_lies_as_near_to_a_chosen_one_as_is_said(seed: int) -> None:
    rng = np.random.default_rng(seed)
    angles = rng.uniform(-90, 90, size=(2, 4))
    clip = played(bend(1, [0.0, 0.5, 1.0, 1.5], *angles[0]), bend(2, [0.0, 0.5, 1.0, 1.5], *angles[1]))
    chosen = chosen_moments(clip, limb())
    moments = np.linspace(0, 1.5, 200)
    paths = np.stack([np.interp(moments, [0.0, 0.5, 1.0, 1.5], row) for row in angles], axis=1)
    picked = np.stack([np.interp(chosen.times, [0.0, 0.5, 1.0, 1.5], row) for row in angles], axis=1)
    known = np.concatenate([[[0, 0]], picked])
    far = np.abs(paths[:, None] - known[None]).max(axis=2).min(axis=1)
    between_looks = np.abs(np.diff(angles, axis=1)).max() / 0.5 / 30
    assert far.max() <= chosen.apart + between_looks
    assert len(chosen.times) <= MOST_MOMENTS
    assert len(chosen.times) == MOST_MOMENTS or chosen.apart <= NEAR_ENOUGH


def test_what_moves_the_whole_body_is_no_stance() -> None:
    walk = Track(0, TRANSLATION, np.array([0.0, 1.0]), np.array([[0, 0, 0], [0, 0, 3.0]]))
    turn = bend(0, [0.0, 1.0], 0, 120)
    assert chosen_moments(played(walk, turn), limb()).times.size == 0
    rigid = Skin(np.full((4, 1), 1), np.ones((4, 1)))
    assert chosen_moments(played(bend(1, [0.0, 1.0], 0, 90)), limb(), rigid).times.size == 0


@pytest.mark.parametrize("share", [1.6, 0.5])
def test_lengthened_and_scaled_bones_are_moments_too(share: float) -> None:
    longer = Track(2, TRANSLATION, np.array([0.0, 1.0]), np.stack([PLACES[2], share * PLACES[2]]))
    thicker = Track(1, SCALE, np.array([0.0, 1.0]), np.array([[1.0, 1, 1], [share, 1, share]]))
    for track in (longer, thicker):
        chosen = chosen_moments(played(track), limb())
        assert chosen.times[-1] == 1.0
        assert chosen.apart <= NEAR_ENOUGH


def test_animation_that_rests_gives_no_stance_and_says_so() -> None:
    stances, note = animated_stances(played(bend(1, [0.0, 1.0], 0, 0)), limb())
    assert stances == ()
    assert note.startswith("0 of 31 moments of the animation 'kick' were chosen: at no moment a joint is more than 0°")


def test_stances_of_an_animation_are_its_moments() -> None:
    clip = played(bend(1, [0.0, 1.0], 0, 70))
    stances, note = animated_stances(clip, limb())
    assert stances[-1].name == "kick 1.00 s"
    assert np.array_equal(stances[-1].worlds, clip.worlds(1.0))
    assert note.startswith(f"{len(stances)} of 31 moments of the animation 'kick' were chosen")
