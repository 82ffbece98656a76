"""A fit is the body's morphs and joint weights, lifted."""

import dataclasses

import numpy as np
import pytest
from jaxtyping import Float

from dressform.body.body import Body
from dressform.body.skeleton import Skeleton, Skin
from dressform.fit.make import make_fit
from dressform.garment.following import METHODS, Following
from dressform.garment.garment import Garment
from dressform.lift.lift import make_lift
from lift_phantoms import body_of, tube

JOINTS = 7
CLEARANCE = 0.015


def _skinned_body() -> Body:
    """A limb of seven joints along y, each vertex shared by the joints around its height."""
    body = body_of(tube(0.06, 0.7, 0.01))
    heights = body.vertices[:, 1]
    places = np.linspace(-0.3, 0.3, JOINTS)
    shares = np.maximum(1 - np.abs(heights[:, None] - places) / 0.15, 0)
    shares[shares.sum(axis=1) == 0, 0] = 1.0
    rest = np.tile(np.eye(4), (JOINTS, 1, 1))
    rest[:, 1, 3] = np.diff(places, prepend=0.0)
    world = np.cumsum(rest[:, 1, 3])
    inverse = np.tile(np.eye(4), (JOINTS, 1, 1))
    inverse[:, 1, 3] = -world
    skeleton = Skeleton(tuple(f"j{k}" for k in range(JOINTS)), np.arange(JOINTS) - 1, rest, inverse)
    return dataclasses.replace(body, skeleton=skeleton, skin=Skin.from_dense(shares / shares.sum(axis=1)[:, None]))


def _bent(body: Body, angle: float) -> Float[np.ndarray, "J 4 4"]:
    """World times inverse bind with every joint bent by `angle` about z."""
    assert body.skeleton is not None
    local = body.skeleton.rest.copy()
    cosine, sine = np.cos(angle), np.sin(angle)
    local[:, :2, :2] = [[cosine, -sine], [sine, cosine]]
    return body.skeleton.world(local) @ body.skeleton.inverse_bind


@pytest.mark.parametrize("method", METHODS)
def test_lifted_joint_weights_are_shares_of_at_most_four_joints(method: str) -> None:
    body = _skinned_body()
    garment = Garment.of("sleeve", *tube(0.06 + CLEARANCE, 0.5, 0.012, twist=0.1, jitter=0.3))
    skin = make_fit(body, garment, Following(method=method)).skin
    assert skin is not None
    assert skin.weights.shape == (len(garment.vertices), 4)
    assert skin.weights.min() >= 0
    assert np.abs(skin.weights.sum(axis=1) - 1).max() < 1e-12


def test_the_cloth_poses_like_the_body_under_it() -> None:
    body = _skinned_body()
    garment = Garment.of("sleeve", *tube(0.06 + CLEARANCE, 0.5, 0.012, twist=0.1, jitter=0.3))
    skin = make_fit(body, garment).skin
    assert skin is not None
    assert body.skin is not None
    transforms = _bent(body, np.radians(6))
    posed = skin.pose(garment.vertices, transforms)
    # Joint weights depend on height alone, so every cloth vertex knows its exact pose.
    heights = np.linspace(-0.26, 0.26, 500)
    shares = np.maximum(1 - np.abs(heights[:, None] - np.linspace(-0.3, 0.3, JOINTS)) / 0.15, 0)
    exact_skin = Skin.from_dense(
        np.array([np.interp(garment.vertices[:, 1], heights, column) for column in (shares.T / shares.sum(axis=1))]).T
    )
    exact = exact_skin.pose(garment.vertices, transforms)
    assert np.linalg.norm(exact - garment.vertices, axis=1).max() > 0.1
    apart = np.linalg.norm(posed - exact, axis=1)
    assert apart[np.abs(garment.vertices[:, 1]) < 0.2].max() < 1e-3
    assert apart.max() < 2.5e-3  # at the hem, where the weights level out over one smoothing length


def test_a_body_without_joints_gives_a_fit_without() -> None:
    body = body_of(tube(0.06, 0.3, 0.02))
    assert make_fit(body, Garment.of("sleeve", *tube(0.07, 0.2, 0.02))).skin is None


def test_the_deltas_are_the_lifted_morphs_in_the_body_s_order() -> None:
    vertices, faces = tube(0.06, 0.3, 0.015)
    body = body_of((vertices, faces), wider=0.1 * vertices, taller=vertices * [0.0, 0.2, 0.0])
    garment = Garment.of("sleeve", *tube(0.07, 0.2, 0.015, jitter=0.3))
    fit = make_fit(body, garment, Following(ease="scale"))
    lift = make_lift(body, garment, Following(ease="scale"))
    assert fit.morph_names == ("wider", "taller")
    for delta, own in zip(fit.deltas, body.deltas):
        assert np.abs(delta - lift.displacements(own[None])[0]).max() < 1e-15
    assert np.abs(fit.at(np.array([1.0, 0.0])) - 1.1 * garment.vertices).max() < 1e-12
