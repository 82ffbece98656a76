"""A garment's own joint weights are judged against lifted ones, and the note says which are better."""

import numpy as np

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.sweep.own_weights import judge_own
from dressform.sweep.results import SweepRow
from seeded_joints import BEND, body, fitted, sleeve

BODY = body()


def judged(kind: str, **how: str):
    worn = GarmentOnBody(fitted(sleeve(kind), BODY, **how))
    zero = np.zeros(2)
    return judge_own(worn, [SweepRow("", "base", zero, worn.measure(zero, BEND), 0.0, False)], [BEND])


def test_lifted_weights_are_better_than_swapped_ones() -> None:
    found = judged("swapped")
    assert found.better == "lifted"
    assert "elbow 60°" in found.note
    assert found.note.endswith("lifted ones are better: `--joint-weights lifted`.")


def test_the_limbs_own_weights_are_about_as_good() -> None:
    found = judged("")
    assert found.better == ""
    assert "they are about as good" in found.note


def test_garment_that_does_not_keep_its_own_is_not_judged() -> None:
    assert judged("swapped", joint_weights="lifted") is None
