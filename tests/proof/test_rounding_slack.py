"""What is certified keeps its margin after rounding to float32: the slack is demanded on top of the margin."""

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.proof.certificate import Certificate, certify, rounding_slack
from dressform.proof.linear_mesh import LinearMesh, linear_mesh

BOX = Range.unit(("still",))
MARGIN = 0.002


def flat(height: float) -> LinearMesh:
    """One level triangle with sides of about 1 m, its normal up, which no weight moves."""
    corners = np.array([[0.0, height, 0.0], [0.0, height, 1.0], [1.0, height, 0.0]])
    return linear_mesh(corners, np.zeros((1, 3, 3)), np.array([[0, 1, 2]]))


def apart(gap: float, margin: float) -> Certificate:
    return certify(flat(gap), flat(0.0), BOX, margin=margin)


@pytest.mark.parametrize("margin", [0.0, MARGIN])
def test_a_gap_within_the_rounding_of_the_margin_is_not_certified(margin: float) -> None:
    slack = rounding_slack(flat(margin), BOX) + rounding_slack(flat(0.0), BOX)
    assert 1e-7 < slack < 1e-5
    short, enough = apart(margin + 0.5 * slack, margin), apart(margin + 1.5 * slack, margin)
    assert short.slack == pytest.approx(slack, rel=0.01)
    assert short.pairs.tolist() == [[0, 0]]
    assert short.certified_area == 0.0
    assert enough.certified_area == 1.0


def test_positions_that_round_below_the_margin_in_float32_are_not_certified() -> None:
    """In exact arithmetic the triangles are farther apart than the margin; as stored in float32 they are nearer."""
    gap = MARGIN + 1e-9
    heights = np.random.default_rng(0).uniform(0.5, 1.0, 50)
    stored = (heights + gap).astype(np.float32).astype(float) - heights.astype(np.float32).astype(float)
    too_near = heights[stored < MARGIN]
    assert len(too_near) > 10
    for height in too_near:
        assert certify(flat(height + gap), flat(height), BOX, margin=MARGIN).certified_area == 0.0


def test_cloth_that_is_near_nothing_is_certified_whole() -> None:
    proof = apart(1.0, MARGIN)
    assert len(proof.pairs) == 0
    assert proof.share == 1.0
    assert proof.certified_area == 1.0
