"""The cause *joint weights*: named at the stance where it is seen, with an action that cures when it is followed."""

import re
from dataclasses import replace

import numpy as np
import pytest

from dressform.causes.actions.make import make_actions, with_actions
from dressform.causes.explain import explain_garment
from dressform.causes.patch import cut_patch
from dressform.causes.results import FOLLOWING, GARMENT, JOINT_WEIGHTS
from dressform.causes.trial import make_trial
from dressform.causes.whole import whole_fields, whole_fit
from dressform.faults.registry import FAULT_OF
from dressform.faults.words import reading_of
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from seeded_joints import BEND, FAULTS, body, explained, first_place, fitted, sleeve

BODY = body()


@pytest.mark.parametrize("kind", FAULTS)
def test_seeded_fault_of_joint_weights_is_named_at_its_stance(kind: str) -> None:
    worst = first_place(fitted(sleeve(kind), BODY))
    assert worst.cluster.worst.stance is BEND
    assert worst.cause == JOINT_WEIGHTS
    assert worst.owner == GARMENT


def test_sleeve_with_the_limbs_own_weights_has_no_such_cause() -> None:
    _, _, found = explained(fitted(sleeve(), BODY))
    assert all(one.cause != JOINT_WEIGHTS for one in found)


def test_action_says_which_joint_is_wrong_and_its_remedy_cures_the_whole_garment() -> None:
    worn, rows, found = explained(fitted(sleeve("swapped"), BODY))
    actions = make_actions(worn, rows, found, stances=[BEND])
    (action,) = actions
    assert action.cause == JOINT_WEIGHTS
    best = action.offered[0]
    assert best.words == "`--joint-weights lifted`: take the joint weights lifted from the body in place of its own"
    assert best.by == GARMENT
    assert best.share > 0.9
    advice = with_actions(found, actions)[0].advice
    assert advice is not None
    said = re.search(r"give up to (\d+) % to `(\w+)`, where the skin under it has (\d+) %", advice.what)
    assert said is not None
    assert int(said[1]) - int(said[3]) > 50
    assert "weights lifted from the body remove 100 % of it" in advice.what
    # The remedy is an option of the fit; followed literally it does what was measured.
    worn, _, after = explained(fitted(sleeve("swapped"), BODY, joint_weights="lifted"))
    assert not any(one.cause == JOINT_WEIGHTS for one in after)
    zero = np.zeros(2)
    for effect in best.left:
        field = np.abs(worn.field(effect.fault, zero, BEND))
        most = reading_of(effect.fault, float(field.sum() if FAULT_OF[effect.fault].is_summed else field.max()))[0]
        assert effect.after <= most + 1e-9


def test_weights_that_a_repair_or_setting_put_on_are_the_way_it_follows() -> None:
    """Owner is the following where the garment's own weights are not in use."""
    plain = sleeve()
    fit = make_fit(BODY, replace(plain, own_joints=None), Following(joint_weights="one-joint"))
    found = first_place(fit)
    assert found.cause == JOINT_WEIGHTS
    assert found.owner == FOLLOWING


def test_places_at_rest_are_explained_as_without_stances() -> None:
    fit = fitted(sleeve("", clearance=0.0005), BODY)
    worn, rows, both = explained(fit)
    alone = explain_garment(worn, rows[:1])
    rest = [one for one in both if one.cluster.worst.stance is None]
    assert [(one.cluster.fault, one.cause, one.measured) for one in rest] == [
        (one.cluster.fault, one.cause, one.measured) for one in alone
    ]


def test_close_up_of_a_place_is_drawn_in_its_stance_with_the_swap_beside_it() -> None:
    worn, _, found = explained(fitted(sleeve("swapped"), BODY))
    cluster = found[0].cluster
    patch = cut_patch(worn, worn.context.narrowed(np.zeros(2)), cluster)
    trials = make_trial(patch, ()), make_trial(patch, (JOINT_WEIGHTS,))
    before, after = (whole_fields(trial, whole_fit(trial)) for trial in trials)
    plain = worn.fields(np.zeros(2), BEND)
    assert np.abs(before.cloth - plain.cloth).max() < 1e-9
    assert np.abs(before.body - plain.body).max() < 1e-9
    away = np.linalg.norm(after.cloth - plain.cloth, axis=1)
    assert away[patch.vertices].max() > 0.02
    assert np.delete(away, patch.vertices).max(initial=0.0) < 1e-9
