"""A following decides where the joint weights come from; the garment's own are kept where it has them."""

from dataclasses import replace

import numpy as np
import pytest

from bent_limb import RADIUS, bent, limb, wall, weights_of
from dressform.body.skeleton import Skin
from dressform.body.stance import carry
from dressform.errors import ArgumentError
from dressform.fit.joint_weights import keeps_own
from dressform.fit.make import make_fit
from dressform.fit.posed import cloth_maps
from dressform.garment.following import JOINT_WEIGHTS, NO_JOINTS, Following
from dressform.garment.garment import Garment
from dressform.garment.own_joints import OwnJoints
from dressform.repair.bisect import bisect
from dressform.repair.refine import refined_garment

BODY = limb(rings=25, sides=16)


def sleeve(*, own_ramp: float | None = None) -> Garment:
    """A sleeve with a band at each end, and joint weights of its own where a ramp is given."""
    vertices, faces = wall(RADIUS + 0.006, -0.2, 0.2, rings=17, sides=16)
    garment = replace(
        Garment.of("sleeve", vertices, faces),
        part_names=("cloth", "cuff"),
        face_parts=(vertices[faces][:, :, 1].min(axis=1) >= 0.15).astype(np.int64),
    )
    if own_ramp is None:
        return garment
    skin = weights_of(vertices[:, 1], ramp=own_ramp)
    return replace(garment, own_joints=OwnJoints(("Lower", "Upper"), np.array([1, -1]), 1 - skin.joints, skin.weights))


def dense(skin: Skin | None) -> np.ndarray:
    assert skin is not None
    return skin.dense(2)


def test_own_weights_are_kept_by_default_and_said() -> None:
    fit = make_fit(BODY, sleeve(own_ramp=0.05))
    assert np.allclose(dense(fit.skin), weights_of(fit.base[:, 1], ramp=0.05).dense(2))
    assert keeps_own(fit)
    (note,) = fit.garment.notes
    assert note == "Its own joint weights are kept: its file has them for the body's joints, matched by name."


def test_garment_without_weights_of_its_own_gets_the_lifted_ones() -> None:
    own, lifted = (make_fit(BODY, sleeve(), Following(joint_weights=kind)) for kind in ("own", "lifted"))
    assert np.array_equal(dense(own.skin), dense(lifted.skin))
    assert not keeps_own(own)
    assert own.garment.notes == ()


def test_lifted_weights_replace_its_own_where_they_are_asked_for() -> None:
    following = Following(joint_weights="lifted")
    one, two = (make_fit(BODY, garment, following) for garment in (sleeve(own_ramp=0.05), sleeve()))
    assert np.array_equal(dense(one.skin), dense(two.skin))


@pytest.mark.parametrize("kind", [kind for kind in JOINT_WEIGHTS if kind != NO_JOINTS])
def test_every_kind_gives_four_weights_that_sum_to_one_and_leaves_rest_alone(kind: str) -> None:
    fit = make_fit(BODY, sleeve(own_ramp=0.05), Following(joint_weights=kind))
    assert fit.skin is not None
    assert fit.skin.weights.shape == (len(fit.base), 4)
    assert fit.skin.weights.min() >= 0.0
    assert np.abs(fit.skin.weights.sum(axis=1) - 1.0).max() < 1e-12
    still = cloth_maps(fit, bent(0))
    assert np.abs(still - np.eye(4)[:3]).max() < 1e-12


def test_one_joint_is_the_one_that_carries_most_of_the_garment() -> None:
    vertices, faces = wall(RADIUS + 0.006, -0.02, 0.2, rings=17, sides=16)
    fit = make_fit(BODY, Garment.of("cuff", vertices, faces), Following(joint_weights="one-joint"))
    assert np.array_equal(dense(fit.skin), np.tile([0.0, 1.0], (len(vertices), 1)))


def test_part_on_one_joint_follows_it_wholly_and_the_rest_as_before() -> None:
    garment = sleeve(own_ramp=0.3)
    plain = make_fit(BODY, garment)
    for joint, want in (("upper", [1.0, 0.0]), ("", [0.0, 1.0])):
        fit = make_fit(BODY, garment, Following(part_joints={"cuff": joint}))
        cuff = np.unique(garment.faces[garment.face_parts == 1])
        rest = np.setdiff1d(np.arange(len(garment.vertices)), cuff)
        assert np.array_equal(dense(fit.skin)[cuff], np.tile(want, (len(cuff), 1)))
        assert np.array_equal(dense(fit.skin)[rest], dense(plain.skin)[rest])


def test_part_or_joint_that_there_is_not_is_refused() -> None:
    with pytest.raises(ArgumentError, match=r"`part_joints` must be parts of 'sleeve': cloth, cuff, got 'collar'"):
        make_fit(BODY, sleeve(), Following(part_joints={"collar": "upper"}))
    with pytest.raises(ArgumentError, match=r"must be joints of 'limb': upper, lower, got 'thumb'"):
        make_fit(BODY, sleeve(), Following(part_joints={"cuff": "thumb"}))


def test_body_without_joints_needs_none() -> None:
    assert make_fit(replace(BODY, skin=None, skeleton=None), sleeve(own_ramp=0.05)).skin is None


def test_refined_garment_keeps_its_own_weights_between_the_old_vertices() -> None:
    garment = sleeve(own_ramp=0.4)
    split = bisect(garment.vertices, garment.faces, np.full(len(garment.faces), 2.0), smooth=False)
    finer = refined_garment(garment, split)
    assert finer.own_joints is not None
    assert len(finer.own_joints.joints) > len(garment.vertices)
    share = finer.own_joints.dense()[:, 0]
    assert np.allclose(share, weights_of(finer.vertices[:, 1], ramp=0.4).weights[:, 1], atol=1e-9)


@pytest.mark.parametrize(("degrees", "shift"), [(90.0, 0.707107), (140.0, 0.939693)])
def test_weights_that_differ_by_a_tenth_shift_cloth_by_the_closed_form(degrees: float, shift: float) -> None:
    """δ · 2ρ sin(θ/2) for two joints, a distance ρ from the axis: at δ 0.1 and ρ 5 as computed by hand."""
    points = 5.0 * np.array([[0.0, 1.0, 0.0], [0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.6, -0.8]])
    shares = np.array([0.1, 0.5, 0.3, 0.8])
    joints = np.tile([0, 1], (4, 1))
    one, two = (Skin(joints, np.stack([1.0 - each, each], axis=1)) for each in (shares, shares + 0.1))
    stance, skeleton = bent(degrees), BODY.skeleton
    assert skeleton is not None
    apart = carry(stance.maps(one, skeleton), points) - carry(stance.maps(two, skeleton), points)
    assert np.abs(np.linalg.norm(apart, axis=1) - shift).max() < 1e-6
