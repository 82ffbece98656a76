"""Parts of a body are found by region or joint."""

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.repair.whole.body_parts import body_part
from solids import capped_body


def test_a_region_counts_wholly_or_not_at_all() -> None:
    body = capped_body("tube")
    assert np.array_equal(body_part(body, "top"), body.regions["top"].astype(float))


def test_a_joint_counts_by_weight_with_all_below_it() -> None:
    body = capped_body("tube")
    assert np.allclose(body_part(body, "chest"), body.vertices[:, 1] / 1.7)
    assert np.allclose(body_part(body, "root"), 1.0)


def test_an_unknown_name_is_refused_and_the_valid_ones_are_listed() -> None:
    with pytest.raises(ArgumentError, match="a region or joint of 'tube': top, root, chest, got 'fin'"):
        body_part(capped_body("tube"), "fin")
