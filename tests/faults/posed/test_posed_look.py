"""Faults at a stance: rest is rest, a clean sleeve on a bent limb is clean, and what the pose shows is told."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.body.skeleton import Skin
from dressform.errors import ArgumentError, MatchError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import graded_values
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from limbs import CLEARANCE, RADIUS, RAMP, bend, limb, ramp_weights, sleeve, sleeved
from meshes import box, joined

BODY, SLEEVE = limb(), sleeve()
SHAPES = {"base": np.zeros(2), "both": np.ones(2), "odd": np.array([0.7, 0.2])}
LATE = 0.7
WORN = GarmentOnBody(sleeved(BODY, SLEEVE))


def wavy(fit: Fit) -> Fit:
    """The fit with joint weights that jump from vertex to vertex about the joint."""
    points = fit.garment.vertices
    chance = np.random.default_rng(2).uniform(-0.4, 0.4, len(points)) * (np.abs(points[:, 1]) < RAMP / 2)
    fore = np.clip(0.5 + points[:, 1] / RAMP + chance, 0.0, 1.0)
    return replace(fit, skin=Skin(np.tile([0, 1], (len(points), 1)), np.stack([1 - fore, fore], axis=1)))


@pytest.mark.parametrize("shape", SHAPES)
def test_stance_that_turns_nothing_has_the_faults_of_rest(shape: str) -> None:
    rest, still = (graded_values(WORN.measure(SHAPES[shape], stance)) for stance in (None, bend(0.0)))
    assert still == pytest.approx(rest, abs=1e-9)


@pytest.mark.parametrize("degrees", [45.0, 90.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_clean_sleeve_on_a_bent_limb_shows_nothing_and_is_not_grave(degrees: float, shape: str) -> None:
    found = WORN.measure(SHAPES[shape], bend(degrees))
    assert found.show_through.exposed_area == 0.0
    assert found.show_through.inside_share == 0.0
    assert found.severity != "grave"
    assert found.stance == f"bent {degrees:g}°"
    assert found.girth_ease == {}


def test_cloth_with_the_weights_of_the_skin_is_outside_where_the_blend_does_not_fold_it() -> None:
    """The equal-weights lemma: clearance over the foot's posed plane is c/|F⁻ᵀn|, outside just while det F > 0."""
    look = WORN.look(np.zeros(2), bend(90.0))
    corners, shares = BODY.faces[WORN.sides.nearest], WORN.sides.barycentric
    feet = np.einsum("gc,gcx->gx", shares, look.body[corners])
    sides = look.body[corners[:, 1:]] - look.body[corners[:, :1]]
    above = np.einsum("gx,gx->g", look.cloth - feet, np.cross(sides[:, 0], sides[:, 1]))
    y, z = np.einsum("gc,gcx->gx", shares, BODY.vertices[corners])[:, 1:].T
    ramp = np.abs(y) < RAMP / 2
    fore = np.clip(0.5 + y / RAMP, 0.0, 1.0)
    determinant = 1.0 - 2.0 * fore * (1.0 - fore) + ramp / RAMP * ((2.0 * fore - 1.0) * y - z)
    sure = (np.abs(determinant) > 0.1) & (np.abs(np.abs(y) - RAMP / 2) > 0.006)
    assert (determinant[sure] < 0).sum() > 20
    assert np.array_equal(above[sure] < 0.0, determinant[sure] < 0.0)


def test_loose_sleeve_that_a_bend_closes_has_no_clearance_to_answer_for() -> None:
    """Five centimetres off the inside of a bend cloth is taken together by the blend, whoever cut it."""
    worn = GarmentOnBody(make_fit(BODY, sleeve(clearance=0.05, along=25, around=24)))
    look = worn.look(np.zeros(2), bend(100.0))
    feet = np.einsum("gc,gcx->gx", worn.sides.barycentric, look.body[BODY.faces[worn.sides.nearest]])
    assert np.linalg.norm(look.cloth - feet, axis=1).min() < 0.03
    found = worn.measure(np.zeros(2), bend(100.0))
    assert found.severities["clearance"] == "clean"
    assert not [place for place in found.places if place.fault == "clearance"]


def test_sleeve_whose_own_weights_lift_it_off_the_bend_answers_for_its_clearance() -> None:
    """On one joint, it stands off the fore part where that turns away: by about ρ tan(θ/2) of what lies beyond."""
    one = Skin(np.tile([0, 1], (len(SLEEVE.vertices), 1)), np.tile([1.0, 0.0], (len(SLEEVE.vertices), 1)))
    found = GarmentOnBody(sleeved(BODY, SLEEVE, skin=one)).measure(np.zeros(2), bend(60.0))
    assert found.severities["clearance"] == "grave"


def test_two_parts_of_the_limb_that_meet_are_contact() -> None:
    open_, shut = (WORN.measure(np.zeros(2), bend(degrees)).show_through for degrees in (45.0, 140.0))
    assert open_.contact_area == 0.0
    assert shut.contact_area > 100e-4
    assert shut.inside_share == 0.0


def test_sleeve_that_lags_at_the_joint_lets_the_elbow_through() -> None:
    """A shift of δ of the weight moves cloth ρ from the joint by about δ 2ρ sin(θ/2): more than its clearance."""
    late = np.where(SLEEVE.vertices[:, 1] > -0.06, LATE, 0.0)
    fore = np.clip(0.5 + SLEEVE.vertices[:, 1] / RAMP - late, 0.0, 1.0)
    skin = Skin(np.tile([0, 1], (len(fore), 1)), np.stack([1 - fore, fore], axis=1))
    found = GarmentOnBody(sleeved(BODY, SLEEVE, skin=skin)).measure(np.zeros(2), bend(90.0))
    assert LATE * 2 * RADIUS * np.sin(np.pi / 4) > CLEARANCE
    assert found.show_through.exposed_area > 5e-4
    assert found.show_through.depth_max > CLEARANCE
    assert found.severities["exposed"] == "grave"


def test_jumping_joint_weights_pucker_at_a_stance_and_not_at_rest() -> None:
    jumps = GarmentOnBody(wavy(sleeved(BODY, SLEEVE)))
    clean, rest, posed = (
        worn.measure(np.zeros(2), stance).pucker.patch
        for worn, stance in ((WORN, bend(60.0)), (jumps, None), (jumps, bend(60.0)))
    )
    assert rest < 1e-12
    assert posed > 5 * clean
    assert posed > 0.1


def test_sleeve_on_one_joint_is_sound_in_itself_wherever_the_limb_bends() -> None:
    one = Skin(np.tile([0, 1], (len(SLEEVE.vertices), 1)), np.tile([1.0, 0.0], (len(SLEEVE.vertices), 1)))
    found = GarmentOnBody(sleeved(BODY, SLEEVE, skin=one)).measure(np.zeros(2), bend(60.0))
    assert found.pucker.patch < 1e-9
    assert found.stretch.relative_p99 < 1e-9
    assert found.broken.folded_faces == found.broken.crossing_pairs == 0
    assert found.broken.bent > np.deg2rad(10.0)  # it stands off the fore part by half of what that turned, and more


def test_button_on_one_joint_keeps_its_form_and_one_on_two_does_not() -> None:
    corners, faces = box()
    button = 0.02 * (corners - corners.mean(axis=0)) + np.array([0.0, 0.0, -RADIUS - 0.02])
    sewn = Garment.of("sewn", *joined((SLEEVE.vertices, SLEEVE.faces), (button, faces)))
    loose = ramp_weights(sewn.vertices[:, 1])
    firm = loose.weights.copy()
    firm[-len(button) :] = [1.0, 0.0]
    bends = [
        GarmentOnBody(sleeved(BODY, sewn, skin=skin)).measure(np.zeros(2), bend(60.0)).broken.hard_bend
        for skin in (replace(loose, weights=firm), loose)
    ]
    assert bends[0] < 1e-12
    assert bends[1] > 0.001


def test_stance_is_refused_where_nothing_carries_the_cloth() -> None:
    bare = GarmentOnBody(replace(WORN.fit, skin=None))
    with pytest.raises(ArgumentError, match="`fit` must be of a garment with joint weights"):
        bare.measure(np.zeros(2), bend(30.0))
    with pytest.raises(MatchError, match="must have the 1 joints"):
        WORN.measure(np.zeros(2), replace(bend(30.0), worlds=np.eye(4)[None]))
