"""Gates: cloth between two skins keeps to the one that it is led to."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.sparse import csr_array, eye_array

import lift_phantoms
from dressform.body.body import Body
from dressform.causes.explain import explain_patches
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.gates import LEADS, SLACK, find_gates
from dressform.causes.patch import Patch, cut_patch
from dressform.causes.results import AMBIGUOUS_FOOT, Cluster, Sighting
from dressform.causes.swaps.ambiguous_foot import gated_feet, moves
from dressform.causes.trial import make_trial
from dressform.faults.places import make_place
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment

ARM, WALL = 0.04, 0.16


def two_limbs(gap: float = WALL) -> Body:
    """An upright arm and, `gap` metres beside it, a trunk that moves away by 4 cm."""
    arm, arm_faces = lift_phantoms.sphere(1.0, rows=40, columns=40)
    trunk, trunk_faces = lift_phantoms.sphere(1.0, rows=40, columns=60)
    mesh = lift_phantoms.joined(
        (arm * np.array([ARM, 0.3, ARM]), arm_faces),
        (trunk * np.array([0.12, 0.4, 0.12]) + np.array([ARM + gap + 0.12, 0.0, 0.0]), trunk_faces),
    )
    away = np.where(mesh[0][:, :1] > ARM + 0.01, 0.04, 0.0) * np.array([1.0, 0.0, 0.0])
    return lift_phantoms.body_of(mesh, away=away)


def flared_sleeve(reach: float) -> Garment:
    """A sleeve 1 cm off the arm whose lower end spreads out by `reach`."""
    vertices, faces = lift_phantoms.tube(ARM + 0.01, 0.3, 0.012)
    down = np.clip((0.0 - vertices[:, 1]) / 0.15, 0.0, 1.0)
    spread = 1.0 + reach / (ARM + 0.01) * down**2
    return Garment.of("sleeve", vertices * np.stack([spread, np.ones_like(spread), spread], axis=1), faces)


def dressed(reach: float) -> ExplainedGarment:
    body = two_limbs()
    return ExplainedGarment(make_fit(body, flared_sleeve(reach)))


def case_at(worn: ExplainedGarment, vertices: np.ndarray, *, fault: str = "stretch") -> Patch:
    weights = np.ones(1)
    place = make_place(
        (0.0, 0.0, 0.0),
        int(vertices[0]),
        side="front left",
        area=1e-3,
        fault=fault,
        severity="moderate",
        value=0.3,
    )
    cluster = Cluster("1", "sleeve", (Sighting("away=1", weights, place),), vertices, 1.0)
    return cut_patch(worn, worn.context.narrowed(weights), cluster)


def test_a_sleeve_that_keeps_to_its_arm_has_no_wrong_foot() -> None:
    assert not dressed(0.03).gates.gated.any()


def test_a_wide_sleeve_stands_on_the_trunk_by_mistake_and_only_there() -> None:
    worn = dressed(0.15)
    on_trunk = worn.feet.points[:, 0] > ARM + 0.01
    gates = worn.gates
    assert on_trunk.any()
    np.testing.assert_array_equal(gates.gated & on_trunk, gates.gated & ~(worn.feet.points[:, 0] < ARM + 0.01))
    assert gates.gated[on_trunk].mean() > 0.9
    assert (gates.strays[gates.gated] > gates.limits[gates.gated]).all()


def test_feet_of_a_stiff_part_between_two_skins_are_no_cloths() -> None:
    """It moves with what it sits on, whichever skin each of its vertices is nearest to."""
    body, gap = two_limbs(0.08), 0.08
    sleeve = lift_phantoms.tube(ARM + 0.005, 0.3, 0.008)
    bar, faces = lift_phantoms.sphere(1.0, rows=8, columns=6)
    bar = bar * np.array([0.5 * gap - 0.008, 0.01, 0.01]) + np.array([ARM + 0.5 * gap, 0.0, 0.0])
    worn = ExplainedGarment(make_fit(body, Garment.of("bar", *lift_phantoms.joined(sleeve, (bar, faces)))))
    stiff = worn.pieces.hard_vertices()
    assert np.count_nonzero(stiff) == len(bar)
    bare = find_gates(worn.context, worn.fit.garment, worn.feet, worn.lift_vertices, worn.paths)
    assert bare.gated[stiff].any()
    assert not worn.gates.gated.any()


def test_gated_feet_stand_on_the_arm_and_the_others_stay() -> None:
    worn = dressed(0.15)
    gated = np.flatnonzero(worn.gates.gated & (worn.feet.points[:, 0] > ARM + 0.01))
    patch = case_at(worn, gated[:20])
    feet, held = gated_feet(patch, patch.fit.garment, make_rows(patch))
    assert held.any()
    assert (feet.points[held, 0] <= ARM + 1e-6).all()
    np.testing.assert_allclose(feet.barycentric.sum(axis=1), 1.0)
    own = worn.feet.points[patch.vertices]
    np.testing.assert_allclose(feet.points[~held], own[~held])
    skin = worn.context.body
    spanned = np.einsum("gc,gcx->gx", feet.barycentric, skin.vertices[skin.faces[feet.faces]])
    np.testing.assert_allclose(spanned, feet.points, atol=1e-12)


def make_rows(patch: Patch) -> csr_array:

    return csr_array(eye_array(len(patch.vertices)))


def test_a_foot_may_move_as_far_as_the_cloth_leads() -> None:
    gates = dressed(0.15).gates
    told = np.isfinite(gates.limits)
    assert told.any()
    assert gates.limits[told].min() >= SLACK
    assert gates.limits[told].max() <= SLACK + LEADS * 0.5


@pytest.mark.parametrize("scale", [0.9, 1.1])
def test_what_is_wrong_does_not_hang_on_the_size_of_the_margin(scale: float) -> None:
    worn = dressed(0.15)
    following = replace(worn.fit.following, margin_mm=scale * worn.fit.following.margin_mm)
    other = ExplainedGarment(replace(worn.fit, following=following), context=worn.context)
    np.testing.assert_array_equal(worn.gates.gated, other.gates.gated)


def test_a_lift_on_gated_feet_follows_the_arm() -> None:
    worn = dressed(0.15)
    gated = np.flatnonzero(worn.gates.gated & (worn.feet.points[:, 0] > ARM + 0.01))
    patch = case_at(worn, gated[:20])
    feet, held = gated_feet(patch, patch.fit.garment, make_rows(patch))
    before = patch.plain[held]
    after = patch.lift(patch.fit.garment, (feet, held)).displacements(patch.context.body.deltas)[0][held]
    assert np.linalg.norm(before, axis=1).max() > 0.03
    assert np.linalg.norm(after, axis=1).max() < 0.4 * np.linalg.norm(before, axis=1).max()


def test_a_patch_lifted_by_itself_moves_as_in_its_garment_also_far_off_the_skin() -> None:
    worn = dressed(0.2)
    patch = case_at(worn, np.flatnonzero(worn.gates.gated & (worn.feet.points[:, 0] > ARM + 0.01))[:20])
    off = np.linalg.norm(patch.plain - patch.fit.deltas[0], axis=1)[patch.core]
    assert np.linalg.norm(patch.fit.deltas[0][patch.core], axis=1).max() > 0.01
    assert off.max() < 2e-4  # a tenth of a millimetre or two; 3.5 mm where only 10 cm of cloth are lifted


def test_strength_does_not_change_where_the_cloth_stands() -> None:
    worn = dressed(0.15)
    weak = replace(worn.fit.garment, strength=np.full(len(worn.fit.base), 0.5))
    other = ExplainedGarment(replace(worn.fit, garment=weak), context=worn.context)
    np.testing.assert_array_equal(other.gates.gated, worn.gates.gated)


def test_room_that_changes_between_two_skins_goes_where_the_cloth_is_clearly_nearer_to_its_own() -> None:
    """Room is measured to the nearest skin: on its own feet alone the cloth gains as much as the other skin leaves."""
    worn = dressed(0.11)
    wrong = np.flatnonzero(worn.gates.gated & (worn.feet.points[:, 0] > ARM + 0.01))
    patch = case_at(worn, wrong, fault="clearance")
    as_it_is = make_trial(patch, ())
    own_feet = make_trial(patch, (AMBIGUOUS_FOOT,))
    assert as_it_is.value > 0.005
    assert own_feet.value < 0.1 * as_it_is.value
    told = explain_patches(iter((patch,)))
    assert told.cause == AMBIGUOUS_FOOT


def test_cloth_that_stretches_between_two_skins_stays_where_it_is_in_the_trial() -> None:
    worn = dressed(0.15)
    patch = case_at(worn, np.flatnonzero(worn.gates.gated)[:20])
    assert not moves(patch).any()
    assert moves(replace(patch, cluster=case_at(worn, patch.cluster.vertices, fault="clearance").cluster)).any()
