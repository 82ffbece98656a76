"""Stances carry vertices as linear blend skinning does: closed forms, and affine in the morphs' weights."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.body.pose import turned_worlds
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance, carry
from dressform.errors import ArgumentError, MatchError


def limb() -> Skeleton:
    """Two joints along Y: the upper at the origin, the lower one metre above it."""
    rest = np.stack([np.eye(4), np.eye(4)])
    rest[1, 1, 3] = 1.0
    bind = np.stack([np.eye(4), np.linalg.inv(rest[1])])
    return Skeleton(("upper", "lower"), np.array([-1, 0]), rest, bind)


def bent(degrees: float, *, axis: tuple[float, float, float] = (1.0, 0.0, 0.0)) -> Stance:
    half = np.deg2rad(degrees) / 2
    turn = [*(np.sin(half) * np.array(axis)), float(np.cos(half))]
    return Stance(f"bent {degrees:g}", turned_worlds(limb(), {"lower": turn}))


def shared(points: np.ndarray, lower: float) -> Skin:
    """Every point on both joints, `lower` of it on the lower one."""
    return Skin(np.tile([0, 1], (len(points), 1)), np.tile([1 - lower, lower], (len(points), 1)))


@pytest.mark.parametrize(
    ("share", "degrees", "factor"),
    [(0.5, 90, 0.707107), (0.5, 120, 0.5), (0.5, 140, 0.342020), (0.25, 90, 0.790569), (0.25, 120, 0.661438)],
)
def test_ring_at_a_bent_joint_shrinks_by_the_known_factor(share: float, degrees: float, factor: float) -> None:
    """|1 - w + w e^{iθ}| for two joints blended w : 1 - w; own derivation, √(1 - 4w(1-w) sin²(θ/2))."""
    angles = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    ring = np.stack([0.05 * np.cos(angles), np.ones(16), 0.05 * np.sin(angles)], axis=1)
    posed = carry(bent(degrees).maps(shared(ring, share), limb()), ring)
    depth = np.ptp(posed - posed.mean(axis=0), axis=0)
    across = np.hypot(depth[1], depth[2])
    assert depth[0] == pytest.approx(0.1, abs=1e-12)
    assert across == pytest.approx(0.1 * factor, rel=1e-5)


def test_ring_at_a_twisted_joint_shrinks_both_ways() -> None:
    """A half-and-half blend over a twist of θ scales both directions by cos(θ/2)."""
    ring = np.array([[0.05, 1, 0], [-0.05, 1, 0], [0, 1, 0.05], [0, 1, -0.05]])
    posed = carry(bent(120, axis=(0.0, 1.0, 0.0)).maps(shared(ring, 0.5), limb()), ring)
    assert np.linalg.norm(posed[0] - posed[1]) == pytest.approx(0.05, rel=1e-9)
    assert np.linalg.norm(posed[2] - posed[3]) == pytest.approx(0.05, rel=1e-9)


@given(st.floats(-150, 150), st.integers(0, 2**31 - 1))
def test_posed_points_are_affine_in_the_weights(degrees: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    base, deltas = rng.normal(size=(50, 3)), rng.normal(size=(3, 50, 3))
    share = rng.uniform(size=50)
    skin = Skin(np.tile([0, 1], (50, 1)), np.stack([1 - share, share], axis=1))
    maps = bent(degrees).maps(skin, limb())
    first, second = rng.uniform(-1, 2, size=(2, 3))
    mixed = carry(maps, base + np.tensordot(0.3 * first + 0.7 * second, deltas, axes=1))
    ends = [carry(maps, base + np.tensordot(weights, deltas, axes=1)) for weights in (first, second)]
    assert np.abs(mixed - (0.3 * ends[0] + 0.7 * ends[1])).max() < 1e-12


def test_maps_carry_as_the_skin_poses() -> None:
    rng = np.random.default_rng(3)
    points = rng.normal(size=(20, 3))
    stance, skin = bent(70), shared(points, 0.3)
    wanted = skin.pose(points, stance.worlds @ limb().inverse_bind)
    assert np.abs(carry(stance.maps(skin, limb()), points) - wanted).max() < 1e-14


def test_stance_of_another_skeleton_is_refused() -> None:
    stance = Stance("short", np.eye(4)[None])
    with pytest.raises(MatchError, match="must have the 1 joints of the stance 'short', got 2"):
        stance.maps(shared(np.zeros((1, 3)), 0.5), limb())


def test_stance_that_is_not_finite_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`worlds` must be finite, got some of 'lost' that are not"):
        Stance("lost", np.full((2, 4, 4), np.nan))
