"""Certificates at stances hold against an adversary, and say what the proof at rest cannot."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from bent_limb import RADIUS, bent, limb, skeleton, sleeve
from dressform.body.stance import Stance, carry
from dressform.errors import MatchError
from dressform.mesh.intersect import crossing_pairs
from dressform.proof.at_stance import StanceCertificate, certify_stances, stance_case
from dressform.proof.bound_kernels import pair_gaps
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth, posed


@cache
def proven(degrees: float, follows: float = 1.0, clearance: float = 0.006) -> StanceCertificate:
    return certify_stances(sleeve(limb(), follows=follows, clearance=clearance), [bent(degrees)])[0]


def test_posed_mesh_is_affine_in_the_weights() -> None:
    body, stance, rng = limb(), bent(110), np.random.default_rng(1)
    maps = stance.maps(body.skin, body.skeleton)
    mesh = posed(linear_body(body), maps)
    for _ in range(20):
        weights = rng.uniform(-1, 2, 2)
        assert np.abs(mesh.at(weights) - carry(maps, body.at(weights))).max() < 1e-12


def test_clearance_at_the_joint_shrinks_by_the_cosine_of_half_the_bend() -> None:
    """Inside the joint plane both skins come nearer to it, by one factor [the equal-weights lemma]."""
    body = limb(ramp=0.4)
    fit, angle = sleeve(body, ramp=0.4), 90.0
    case = stance_case(fit)
    pair = case.posed_at(bent(angle))
    cloth, skin = pair.cloth.tree.vertices, pair.body.tree.vertices
    inner = [int(np.argmin(np.abs(mesh - [0, 0, radius]).sum(1))) for mesh, radius in
             ((fit.base, RADIUS + 0.006), (body.vertices, RADIUS))]  # fmt: skip
    apart = np.linalg.norm(cloth[inner[0]] - skin[inner[1]])
    assert apart == pytest.approx(0.006 * np.cos(np.radians(angle / 2)), rel=1e-9)


def test_sleeve_that_follows_is_certified_at_a_gentle_bend_whole() -> None:
    found = proven(30)
    assert found.complete
    assert found.share == 1.0
    assert found.contacts.total == 0
    assert len(found.pairs) > 1000


def test_rest_is_a_stance_whose_certificate_is_that_at_rest() -> None:
    fit = sleeve(limb(rings=21), follows=0.4, rings=11)
    still = Stance("rest", skeleton().world())
    at_rest = certify(linear_cloth(fit), linear_body(fit.body), fit.body.range)
    (found,) = certify_stances(fit, [still])
    assert found.contacts.total == 0
    keys = {tuple(pair) for pair in at_rest.open_pairs.tolist()}
    assert keys
    assert keys <= {tuple(pair) for pair in found.open_pairs.tolist()}


def test_proof_that_ignored_the_stance_would_be_wrong() -> None:
    """Certified whole at rest, the sleeve crosses the limb when it bends: its own ramp is another than the skin's."""
    body = limb()
    fit = sleeve(body, ramp=0.05)
    assert certify(linear_cloth(fit), linear_body(body), body.range).share == 1.0
    case = stance_case(fit)
    pair = case.posed_at(bent(60))
    crossing = crossing_pairs(pair.cloth.tree, pair.body.tree)
    assert len(crossing)
    (found,) = certify_stances(fit, [bent(60)])
    sure = {tuple(one) for one in found.pairs[found.certified].tolist()}
    assert not sure & {tuple(one) for one in crossing.tolist()}
    assert not found.complete


@pytest.mark.parametrize("degrees", [40.0, 80.0, 125.0])
def test_no_shape_violates_a_pair_that_is_certified_at_a_stance(degrees: float) -> None:
    fit = sleeve(limb(), follows=0.7)
    pair = stance_case(fit).posed_at(bent(degrees))
    found, rng = proven(degrees, 0.7), np.random.default_rng(int(degrees))
    sure = found.pairs[found.certified]
    assert len(sure) > 500
    ends = [np.array([a, b], dtype=float) for a in (0, 1) for b in (0, 1)]
    for weights in [*ends, *rng.uniform(0, 1, (12, 2))]:
        gaps = pair_gaps(pair.cloth.terms, pair.cloth.faces, pair.body.terms, pair.body.faces, sure, weights)
        assert gaps.min() > 0
        cloth, body = (mesh.tree.refit(mesh.at(weights)) for mesh in (pair.cloth, pair.body))
        assert not set(map(tuple, sure.tolist())) & set(map(tuple, crossing_pairs(cloth, body).tolist()))


def test_cloth_under_its_own_skin_at_a_stance_is_open_even_where_it_crosses_nothing() -> None:
    """A sleeve with another ramp than the skin's sinks in on one side of the bend."""
    body = limb()
    fit = sleeve(body, ramp=0.05, clearance=0.003)
    (found,) = certify_stances(fit, [bent(70)])
    assert found.sunk.any()
    sunk = found.sunk[found.pairs[:, 0]]
    assert sunk.any()
    assert not found.certified[sunk].any()


def test_skin_of_the_other_bone_that_a_bend_brings_near_is_contact_and_not_open() -> None:
    """Bent right over, the lower bone lies on the upper: the sleeve meets skin far away along the limb."""
    found = proven(160)
    assert found.contacts.across > 100
    pair = stance_case(sleeve(limb())).posed_at(bent(160))
    feet = pair.case.feet.points[pair.case.fit.garment.faces[found.open_pairs[:, 0]]].mean(axis=1)
    skin = limb().vertices[limb().faces[found.open_pairs[:, 1]]].mean(axis=1)
    assert np.linalg.norm(feet - skin, axis=1).max() < 0.1


def test_skin_closes_where_a_sharp_bend_halves_its_distance_and_not_on_the_outer_side() -> None:
    """Two places of one limb, as far from the joint as each other on the inner side, come near; on the outer not."""
    body = limb(ramp=0.02)
    pair = stance_case(sleeve(body, ramp=0.02)).posed_at(bent(100))
    base = pair.case.fit.base
    middles = body.vertices[body.faces].mean(axis=1)
    for side, closes in ((1.0, True), (-1.0, False)):
        foot = int(np.argmin(np.abs(base - [0.0, -0.05, side * (RADIUS + 0.006)]).sum(axis=1)))
        face = int(np.argmin(np.abs(middles - [0.0, 0.05, side * RADIUS]).sum(axis=1)))
        assert pair.closes_at(np.array([foot]), np.array([face])).tolist() == [closes]


def test_fit_without_joint_weights_is_refused() -> None:
    with pytest.raises(MatchError, match="`fit` must have joint weights"):
        certify_stances(replace(sleeve(limb(rings=5)), skin=None), [bent(10)])
