"""Between the moments of an animation: speeds are bounded, and what is certified holds at every instant."""

import numpy as np
import pytest

from bent_limb import HALF, limb, skeleton, sleeve
from dressform.body.pose import CUBIC, LINEAR, ROTATION, TRANSLATION, Animation, NodeTree, Track
from dressform.body.stance import Stance
from dressform.mesh.intersect import crossing_pairs
from dressform.proof.at_stance import stance_case
from dressform.proof.bound_kernels import pair_gaps
from dressform.proof.clip import certify_clip
from dressform.proof.joint_speeds import joint_speeds


def quaternion(axis: np.ndarray, degrees: float) -> np.ndarray:
    half = np.radians(degrees) / 2
    return np.append(np.sin(half) * axis / np.linalg.norm(axis), np.cos(half))


def chain(count: int, offsets: np.ndarray) -> NodeTree:
    return NodeTree(
        np.arange(count) - 1, offsets, np.tile([0.0, 0.0, 0.0, 1.0], (count, 1)), np.ones((count, 3)),
        np.tile(np.eye(4), (count, 1, 1)), np.zeros(count, dtype=bool), np.arange(count), np.eye(4),
    )  # fmt: skip


def bending(degrees: float, *, seconds: float = 1.0, mode: str = LINEAR) -> Animation:
    """The limb closes at an even speed."""
    keys = np.stack([quaternion(np.array([1.0, 0, 0]), angle) for angle in (0.0, degrees)])
    values = np.repeat(keys, 3, axis=0) if mode == CUBIC else keys
    track = Track(1, ROTATION, np.array([0.0, seconds]), values, mode)
    return Animation("closing", chain(2, skeleton().rest[:, :3, 3].copy()), (track,))


def test_hinge_turns_at_its_angle_over_the_time() -> None:
    """90° in half a second is π radians a second; the upper bone, as the lower sees it, swings at its own length."""
    speeds = joint_speeds(bending(90.0, seconds=0.5), 0.0, 0.5)
    assert speeds is not None
    assert speeds.turning[1, 0] == pytest.approx(np.pi)
    assert speeds.turning[0, 1] == pytest.approx(np.pi)
    assert speeds.moving[1, 0] == 0.0
    assert speeds.moving[0, 1] == pytest.approx(np.pi * HALF)
    assert (np.diag(speeds.turning) == 0).all()


@pytest.mark.parametrize("seed", range(5))
def test_no_point_moves_faster_against_another_joint_than_its_bound(seed: int) -> None:
    rng, count = np.random.default_rng(seed), 5
    tree = chain(count, 0.2 * rng.normal(size=(count, 3)))
    keys = [[quaternion(rng.normal(size=3), 60 * rng.normal()) for _ in range(2)] for _ in range(count)]
    tracks = [Track(n, ROTATION, np.array([0.0, 0.7]), np.stack(both)) for n, both in enumerate(keys)]
    tracks.append(Track(2, TRANSLATION, np.array([0.0, 0.7]), 0.2 * rng.normal(size=(2, 3))))
    animation = Animation("all", tree, tuple(tracks))
    bound = joint_speeds(animation, 0.0, 0.7)
    assert bound is not None
    step, attained = 1e-5, 0.0
    for time in rng.uniform(0.01, 0.69, 60):
        now, later = animation.worlds(time), animation.worlds(time + step)
        for j in range(count):
            for k in range(count):
                point = np.append(0.3 * rng.normal(size=3), 1.0)
                seen = [np.linalg.inv(worlds[k]) @ worlds[j] @ point for worlds in (now, later)]
                speed = np.linalg.norm(seen[1] - seen[0]) / step
                most = bound.moving[j, k] + bound.turning[j, k] * np.linalg.norm(point[:3])
                assert speed <= most * (1 + 1e-4) + 1e-7
                attained = max(attained, speed / most if most > 0 else 0.0)
    assert attained > 0.5


def test_gentle_bend_is_certified_at_every_instant_and_an_adversary_finds_nothing() -> None:
    fit, animation, rng = sleeve(limb(rings=25, sides=16), rings=17, sides=16), bending(30.0), np.random.default_rng(3)
    found = certify_clip(fit, animation, halvings=4)
    assert found.complete
    assert found.contact_share == 0.0
    assert found.open == ()
    assert found.pieces > 1
    assert len(found.pairs) > 500
    case = stance_case(fit)
    for time in rng.uniform(0, 1, 12):
        pair = case.posed_at(Stance("moment", animation.worlds(time)))
        weights = rng.integers(0, 2, 2).astype(float)
        gaps = pair_gaps(pair.cloth.terms, pair.cloth.faces, pair.body.terms, pair.body.faces, found.pairs, weights)
        assert gaps.min() > 0


def test_pair_that_touches_at_some_instant_is_open_in_an_interval_that_holds_it() -> None:
    fit = sleeve(limb(rings=25, sides=16), ramp=0.05, clearance=0.004, rings=17, sides=16)
    animation, case, touched = bending(60.0), stance_case(fit), 0
    found = certify_clip(fit, animation, halvings=2)
    assert 0.3 < found.share < 1.0
    assert all(one.bounded for one in found.open)
    listed = {tuple(pair) for pair in found.pairs.tolist()}
    for time in (0.4, 0.7, 0.97):
        pair = case.posed_at(Stance("moment", animation.worlds(time)))
        crossing = crossing_pairs(pair.cloth.tree, pair.body.tree)
        crossing = crossing[~pair.fates(pair.cloth, crossing, np.zeros(len(crossing))).contact]
        held = [one for one in found.open if one.start <= time <= one.end]
        still_open = {tuple(each) for one in held for each in one.pairs.tolist()}
        real = {tuple(each) for each in crossing.tolist()} & listed
        assert real <= still_open
        touched += len(real)
    assert touched > 10


def test_halving_certifies_what_one_interval_cannot() -> None:
    fit = sleeve(limb(rings=25, sides=16), rings=17, sides=16)
    shares = [certify_clip(fit, bending(60.0), halvings=count).share for count in (0, 3)]
    assert shares[0] < shares[1]


def test_cubic_splines_have_no_bound_and_are_open() -> None:
    fit = sleeve(limb(rings=25, sides=16), rings=17, sides=16)
    found = certify_clip(fit, bending(30.0, mode=CUBIC))
    assert found.share == 0.0
    assert [one.bounded for one in found.open] == [False]
