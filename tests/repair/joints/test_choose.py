"""Joint weights chosen for stances: changed where it helps, as little as it takes, and never at rest."""

import numpy as np
import pytest

from bent_limb import bent
from dressform.fit.fit import Fit
from dressform.fit.posed import cloth_maps
from dressform.jobs.prove import prove
from dressform.jobs.repair import repair
from dressform.repair.joints.choose import KINDS, choose_weights
from seeded_joints import BEND, body, fitted, sleeve

BODY = body()


@pytest.mark.parametrize("kind", ["swapped", "noise"])
def test_faulty_weights_are_mended_at_the_stance_and_rest_stays(kind: str) -> None:
    fit = fitted(sleeve(kind), BODY)
    found = choose_weights(fit, [BEND])
    assert found.kind
    (lack,) = found.stances
    assert lack.after < 0.2 * lack.before
    assert found.fit.skin is not None
    assert found.fit.skin.weights.shape[1] == 4
    assert np.abs(found.fit.skin.weights.sum(axis=1) - 1).max() < 1e-12
    assert found.fit.base is fit.base or np.array_equal(found.fit.base, fit.base)
    assert np.array_equal(found.fit.deltas, fit.deltas)
    assert np.abs(cloth_maps(found.fit, bent(0)) - np.eye(4)[:3]).max() < 1e-12


def test_sound_weights_are_left_alone() -> None:
    fit = fitted(sleeve(clearance=0.012), BODY)
    found = choose_weights(fit, [bent(30)])
    assert found.fit is fit
    assert not found.kind


def test_only_what_the_stance_asks_for_is_changed() -> None:
    """Below the elbow the wrong weights bring nothing into the skin: most of that cloth keeps its own."""
    fit = fitted(sleeve("too far up", seed=3), BODY)
    found = choose_weights(fit, [bent(40)])
    assert found.kind
    assert 0.0 < found.area_share < 0.95
    untouched = found.shares < 0.01
    assert untouched.any()
    assert fit.skin is not None
    assert found.fit.skin is not None
    assert np.array_equal(found.fit.skin.dense(2)[untouched], fit.skin.dense(2)[untouched])


def test_repair_at_stances_writes_down_what_it_chose_and_its_certificate_uses_it() -> None:
    fit: Fit = fitted(sleeve("swapped", clearance=0.01), BODY)
    stance = bent(25, "a little")
    done = repair(fit, repairs=("joints",), shapes=1, stances=[stance])
    chosen = done.changes.joints
    assert chosen is not None
    assert chosen.kind in KINDS
    before, after = prove(fit, stances=[stance]).stances[0], done.proof.stances[0]
    assert before.sunk.sum() > 100
    assert after.sunk.sum() == 0
    assert after.share > before.share
    assert "joint weights" in str(done)


def test_without_stances_no_weights_are_chosen() -> None:
    assert repair(fitted(sleeve("swapped"), BODY), repairs=("joints",), shapes=1).changes.joints is None
