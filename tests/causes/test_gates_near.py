"""Skin that is near in the straight line is wrong all the same where no way along the skin leads there."""

import numpy as np
import pytest

from dressform.causes.explained_body import ExplainedBody
from dressform.causes.gates import LEADS, SLACK, find_gates
from dressform.garment.along import paths_along
from dressform.garment.garment import Garment
from dressform.lift.feet import Feet
from lift_phantoms import body_of

GAP, STEP, JUMP = 0.035, 0.01, 10
COLUMNS = 8


def strip(rows: int) -> np.ndarray:
    """Triangles of a strip two vertices wide."""
    low = 2 * np.arange(rows - 1)
    return np.concatenate([np.stack([low, low + 2, low + 1], axis=1), np.stack([low + 1, low + 2, low + 3], axis=1)])


@pytest.mark.parametrize("joined", [True, False])
def test_the_far_end_of_a_frill_may_stand_on_skin_3_cm_on_only_if_the_skin_leads_there(joined: bool) -> None:
    """The frill stands straight out; from 10 cm on, where the cloth leads 5 cm, its feet lie 3.5 cm farther along."""
    x = np.repeat(np.linspace(0.0, GAP, COLUMNS), 2)
    skin = np.stack([x, np.tile([0.0, 0.005], COLUMNS), np.zeros(2 * COLUMNS)], axis=1)
    faces = strip(COLUMNS)
    middle = np.abs(skin[faces, 0].mean(axis=1) - GAP / 2) < GAP / (COLUMNS - 1) / 2
    context = ExplainedBody(body_of((skin, faces if joined else faces[~middle]), still=np.zeros_like(skin)))
    heights = np.repeat(STEP * np.arange(2 * JUMP - 1), 2)
    side = np.tile([0, 1], 2 * JUMP - 1)
    frill = Garment.of("frill", np.stack([0 * heights, skin[side, 1], heights], axis=1), strip(2 * JUMP - 1))
    far = heights > STEP * (JUMP - 0.5)
    on = np.where(far, 2 * COLUMNS - 2, 0) + side
    count = len(heights)
    feet = Feet(
        skin[on], np.zeros(count, dtype=np.int64), np.eye(3)[np.zeros(count, dtype=np.int64)], heights,
        np.tile([0.0, 0.0, 1.0], (count, 1)),
    )  # fmt: skip
    gates = find_gates(context, frill, feet, on, paths_along(frill.vertices, frill.faces))
    assert (LEADS * (STEP * JUMP - 0.02) + SLACK) > GAP
    assert gates.gated.tolist() == (far & (not joined)).tolist()
