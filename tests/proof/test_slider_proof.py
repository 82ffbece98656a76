"""Certificates over intervals of joint sliders: derivatives are bounded, and no value violates what is claimed."""

from functools import cache

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from bent_limb import bent, limb, sleeve
from dressform.body.pose import ROTATION, SCALE, TRANSLATION, Animation, NodeTree
from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance
from dressform.body.stances.sliders import JointEffect, JointSlider, slid_worlds
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.mesh.intersect import crossing_pairs
from dressform.proof.at_stance import stance_case
from dressform.proof.bound_kernels import pair_gaps
from dressform.proof.slider_bends import slider_bends
from dressform.proof.slider_range import SliderCertificate, certify_sliders

LONG = JointSlider("long", (JointEffect(1, TRANSLATION, (0, -0.02, 0), (0, 0.04, 0)),))
THICK = JointSlider("thick", (JointEffect(0, SCALE, (0.9, 1, 0.9), (1.2, 1, 1.2)),))
CLOSE = JointSlider("close", (JointEffect(1, ROTATION, (0, 0, 0), (30, 0, 0)),), low=0.0)
STEEP = JointSlider("steep", (JointEffect(1, ROTATION, (0, 0, 0), (60, 0, 0)),), low=0.0)


@cache
def fitted() -> Fit:
    return sleeve(limb(rings=17, sides=12), rings=11, sides=12)


@cache
def found(*sliders: JointSlider) -> SliderCertificate:
    return certify_sliders(fitted(), sliders)


def chain(seed: int) -> tuple[Skeleton, list[JointSlider]]:
    """Four joints in a row with axes of their own, and sliders that scale, move and turn several of them at once."""
    rng = np.random.default_rng(seed)
    rest = np.tile(np.eye(4), (4, 1, 1))
    for joint in range(4):
        rest[joint, :3, :3] = Rotation.random(random_state=10 * seed + joint).as_matrix() * rng.uniform(0.8, 1.2, 3)
        rest[joint, :3, 3] = 0.3 * rng.normal(size=3)
    parents = np.arange(4) - 1
    bare = Skeleton(("a", "b", "c", "d"), parents, rest, np.tile(np.eye(4), (4, 1, 1)))
    skeleton = Skeleton(bare.names, parents, rest, np.linalg.inv(bare.world()))
    axis = tuple(rng.normal(size=3).tolist())
    sliders = [
        JointSlider("turn", tuple(JointEffect(j, ROTATION, (-40, 0, 0), (50, 0, 0), axis) for j in (1, 2))),
        JointSlider("grow", tuple(JointEffect(j, SCALE, (0.8, 0.9, 1.0), (1.3, 1.1, 1.0)) for j in (0, 2, 3))),
        JointSlider("move", (JointEffect(1, TRANSLATION, (0, -0.1, 0), (0.1, 0.1, 0)),
                             JointEffect(3, SCALE, (0.9, 0.9, 0.9), (1.1, 1.1, 1.1)))),
    ]  # fmt: skip
    return skeleton, sliders


@pytest.mark.parametrize("seed", range(4))
def test_second_derivatives_stay_below_their_bounds(seed: int) -> None:
    """Finite differences by each slider alone, of points carried by each joint, anywhere in random pieces."""
    skeleton, sliders = chain(seed)
    rng, step, attained = np.random.default_rng(seed), 1e-3, 0.0
    for _ in range(25):
        piece = {}
        for one in sliders:
            low, high = np.sort(rng.uniform(0.01, 0.99, 2)) * (1 if rng.random() < 0.5 else -1)
            piece[one.name] = (min(low, high), max(low, high))
        point = np.append(0.4 * rng.normal(size=3), 1.0)
        for which in sliders:
            low, high = piece[which.name]
            bound = slider_bends(skeleton, sliders, piece)
            middle = {name: float(rng.uniform(*ends)) for name, ends in piece.items()}
            values = [{**middle, which.name: middle[which.name] + k * step} for k in (-1, 0, 1)]
            worlds = [slid_worlds(skeleton, sliders, one) for one in values]
            second = (worlds[0] - 2 * worlds[1] + worlds[2]) / step**2 @ point * (high - low) ** 2 / 8
            most = bound.linear * np.linalg.norm(point[:3]) + bound.place
            sizes = np.linalg.norm(second[:, :3], axis=1)
            assert (sizes <= most * (1 + 1e-3) + 1e-6).all()
            attained = max(attained, float((sizes / np.maximum(most, 1e-9)).max()))
    assert attained > 0.1


def test_slider_on_one_node_of_every_chain_adds_nothing_and_its_corners_decide() -> None:
    certificate = found(LONG, THICK)
    assert certificate.exact
    assert certificate.complete
    assert certificate.pieces == 4
    bends = slider_bends(fitted().body.skeleton, (LONG, THICK), {"long": (0.0, 1.0), "thick": (-1.0, 0.0)})
    assert (bends.linear == 0).all()
    assert (bends.place == 0).all()


def test_one_joint_that_turns_by_an_angle_bends_by_its_square_over_eight() -> None:
    bends = slider_bends(fitted().body.skeleton, (CLOSE,), {"close": (0.0, 1.0)})
    assert bends.linear == pytest.approx([0.0, np.radians(30) ** 2 / 8])
    assert bends.place == pytest.approx([0.0, 0.0])
    assert not found(CLOSE).exact


@pytest.mark.parametrize("sliders", [(LONG, THICK), (CLOSE,), (CLOSE, LONG)], ids=["affine", "turn", "both"])
def test_no_value_and_no_shape_violates_a_certified_pair(sliders: tuple[JointSlider, ...]) -> None:
    certificate, fit = found(*sliders), fitted()
    assert certificate.share > 0.999
    rng, case = np.random.default_rng(8), stance_case(fit)
    open_pairs = {tuple(pair) for piece in certificate.open for pair in piece.pairs.tolist()}
    sure = np.array([pair for pair in certificate.pairs.tolist() if tuple(pair) not in open_pairs])
    assert len(sure) > 500
    for _ in range(12):
        values = {one.name: float(rng.uniform(one.low, one.high)) for one in sliders}
        posed = case.posed_at(Stance("", slid_worlds(fit.body.skeleton, sliders, values)))
        weights = rng.uniform(0, 1, len(fit.morph_names))
        args = (posed.cloth.terms, posed.cloth.faces, posed.body.terms, posed.body.faces, sure)
        assert pair_gaps(*args, weights).min() > 0
        trees = [mesh.tree.refit(mesh.at(weights)) for mesh in (posed.cloth, posed.body)]
        assert not {tuple(pair) for pair in crossing_pairs(*trees).tolist()} & {tuple(pair) for pair in sure.tolist()}


def test_values_at_which_pairs_are_open_are_named() -> None:
    """A shorter ramp than the skin's sinks in as the limb closes: open are high values above all."""
    fit = sleeve(limb(rings=17, sides=12), ramp=0.1, clearance=0.006, rings=11, sides=12)
    certificate = certify_sliders(fit, (STEEP,), halvings=3)
    assert not certificate.complete
    assert 0 < certificate.share < 1
    gentle = sum(len(piece.pairs) for piece in certificate.open if piece.values["steep"][1] <= 0.5)
    sharp = sum(len(piece.pairs) for piece in certificate.open if piece.values["steep"][0] >= 0.5)
    assert sharp > 3 * gentle


def test_animations_and_no_sliders_at_all_are_refused() -> None:
    nodes = NodeTree(np.array([-1]), np.zeros((1, 3)), np.eye(4)[3:], np.ones((1, 3)), np.eye(4)[None],
                     np.zeros(1, dtype=bool), np.zeros(1, dtype=np.int64), np.eye(4))  # fmt: skip
    still = Animation("still", nodes, ())
    with pytest.raises(ArgumentError, match="`sliders` must be one to 6 sliders that play no animation, got 'plays'"):
        certify_sliders(fitted(), (JointSlider("plays", animation=still),))
    with pytest.raises(ArgumentError, match="got 0"):
        certify_sliders(fitted(), ())


def test_slider_at_its_end_is_the_stance_that_it_makes() -> None:
    worlds = slid_worlds(fitted().body.skeleton, (CLOSE,), {"close": 1.0})
    assert np.abs(worlds - bent(30).worlds).max() < 1e-12
