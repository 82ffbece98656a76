"""Joints that follow morphs, everywhere that a stance is asked for: against a skeleton built anew at each shape."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from bent_limb import bent, limb, skeleton, sleeve
from dressform.body.body import Body
from dressform.body.pose import ROTATION, SCALE
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance
from dressform.body.stances.following_joints import stance_on
from dressform.body.stances.sliders import JointEffect, JointSlider
from dressform.body.stances.turns import about, modelled_worlds, worlds_of
from dressform.errors import ArgumentError, MatchError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.fit.posed import posed_fit
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.tree import Tree
from dressform.proof.at_stance import certify_stances, stance_case
from dressform.proof.linear_mesh import linear_cloth
from dressform.proof.slider_range import certify_sliders
from skeletons import remodelled

MOVES = np.array([[[0.0, 0.0, 0.0], [0.0, 0.02, 0.03]], [[0.0, 0.01, 0.0], [0.01, 0.0, -0.02]]])
BEND = 80.0


@cache
def followed(*, ramp: float = 0.05) -> Fit:
    """A sleeve with a ramp of its own, so that it is carried otherwise than the skin where joints move."""
    body = replace(limb(rings=25, sides=16), joint_moves=MOVES)
    return sleeve(body, ramp=ramp, rings=17, sides=16)


def rebuilt(weights: np.ndarray) -> Skeleton:
    """The skeleton with every joint where a shape puts it."""
    worlds = modelled_worlds(skeleton()).copy()
    worlds[:, :3, 3] += np.tensordot(weights, MOVES, axes=1)
    return remodelled(skeleton(), worlds)


def carried_anew(points: np.ndarray, skin: Skin, weights: np.ndarray, degrees: float = BEND) -> np.ndarray:
    """Points of a shape, posed by the skeleton that was built for that shape: knows nothing of offsets."""
    there = rebuilt(weights)
    turned = worlds_of(there, {1: about((1, 0, 0), degrees)})
    return skin.pose(points, turned @ there.inverse_bind)


def shapes() -> list[np.ndarray]:
    rng = np.random.default_rng(4)
    return [np.array([a, b], dtype=float) for a in (0, 1) for b in (0, 1)] + list(rng.uniform(-1, 2, (6, 2)))


def skins(fit: Fit) -> tuple[Skin, Skin]:
    assert fit.skin is not None
    assert fit.body.skin is not None
    return fit.skin, fit.body.skin


def test_posed_fit_stays_affine_in_the_weights_and_is_what_a_rebuilt_skeleton_makes_of_each_shape() -> None:
    fit = followed()
    posed, (cloth, body) = posed_fit(fit, bent(BEND)), skins(fit)
    for weights in shapes():
        assert np.abs(posed.at(weights) - carried_anew(fit.at(weights), cloth, weights)).max() < 1e-12
        assert np.abs(posed.body.at(weights) - carried_anew(fit.body.at(weights), body, weights)).max() < 1e-12


def test_faults_are_measured_where_the_joints_have_followed() -> None:
    fit = followed()
    worn, (cloth, body) = GarmentOnBody(fit), skins(fit)
    for weights in shapes()[1:4]:
        look = worn.look(weights, bent(BEND))
        assert np.abs(look.cloth - carried_anew(fit.at(weights), cloth, weights)).max() < 1e-12
        assert np.abs(look.body - carried_anew(fit.body.at(weights), body, weights)).max() < 1e-12


def test_stance_of_one_shape_carries_by_its_joints_alone_what_the_rebuilt_skeleton_does() -> None:
    fit = followed()
    _, body = skins(fit)
    for weights in shapes():
        there = stance_on(bent(BEND), skeleton(), MOVES, weights)
        found = body.pose(fit.body.at(weights), there.worlds @ skeleton().inverse_bind)
        assert np.abs(found - carried_anew(fit.body.at(weights), body, weights)).max() < 1e-12


def test_cloth_that_follows_smoothly_has_the_pucker_of_its_shape_at_rest_wherever_joints_have_gone() -> None:
    """A y − A s is the residual at rest, turned; an offset left out of one of the two would be a jump."""
    body = replace(limb(rings=61, sides=24), joint_moves=MOVES)
    worn = GarmentOnBody(make_fit(body, sleeve(body, rings=65, sides=32).garment))
    rest, posed = worn.look(np.ones(2)), worn.look(np.ones(2), bent(BEND))
    assert rest.windows.max() > 1e-3
    assert np.abs(posed.windows - rest.windows).max() < 0.2 * rest.windows.max()


def test_no_shape_of_a_rebuilt_skeleton_violates_a_certified_pair_and_one_left_out_would_have() -> None:
    """An adversary over shapes, who builds skeletons; a proof with joints that stay certifies pairs that cross."""
    fit = followed()
    still = replace(fit, body=replace(fit.body, joint_moves=None))
    (found,), (blind,) = (certify_stances(one, [bent(BEND)]) for one in (fit, still))
    cloth_skin, body_skin = skins(fit)
    wrong = {"found": 0, "blind": 0}
    for weights in [*shapes()[:4], *np.random.default_rng(5).uniform(0, 1, (12, 2))]:
        cloth = Tree(carried_anew(fit.at(weights), cloth_skin, weights), fit.garment.faces)
        body = Tree(carried_anew(fit.body.at(weights), body_skin, weights), fit.body.faces)
        crossing = set(map(tuple, crossing_pairs(cloth, body).tolist()))
        for name, certificate in (("found", found), ("blind", blind)):
            sure = certificate.pairs[certificate.certified]
            wrong[name] += len(crossing & set(map(tuple, sure.tolist())))
    assert found.certified.sum() > 500
    assert wrong["found"] == 0
    assert wrong["blind"] > 0


def test_a_repair_carries_the_cloth_as_the_proof_does() -> None:
    fit = followed()
    pair, (cloth, _) = stance_case(fit).posed_at(bent(BEND)), skins(fit)
    weights = np.ones(2)
    found = pair.carried(linear_cloth(fit)).at(weights)
    assert np.abs(found - carried_anew(fit.at(weights), cloth, weights)).max() < 1e-12


def test_joint_moves_of_another_skeleton_are_refused() -> None:
    body: Body = limb(rings=5)
    with pytest.raises(MatchError, match=r"`joint_moves` of 'limb' must be \(2, 2, 3\)"):
        replace(body, joint_moves=np.zeros((2, 3, 3)))


def test_a_stance_without_moves_is_the_stance_itself() -> None:
    stance: Stance = bent(30)
    assert stance_on(stance, skeleton(), None, np.ones(2)) is stance


def test_over_a_range_of_sliders_a_turn_is_refused_and_a_scale_holds_at_every_shape_and_value() -> None:
    fit = followed(ramp=0.2)
    turn = JointSlider("turn", (JointEffect(1, ROTATION, (0, 0, 0), (20, 0, 0)),), low=0.0)
    with pytest.raises(ArgumentError, match="where joints follow morphs, got 'turn'"):
        certify_sliders(fit, [turn])
    size = JointSlider("size", (JointEffect(1, SCALE, (1, 1, 1), (1.1, 1.0, 1.1)),), low=0.0)
    found = certify_sliders(fit, [size])
    assert found.share > 0.5
