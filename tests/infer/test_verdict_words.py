"""What the verdict says in words is what its evidence says in figures."""

import re

import pytest
from tests.phantoms import phantom_body, tube

from dressform.garment.garment import Garment
from dressform.infer.results import CUT_LOOSE
from dressform.infer.shape import infer_shape


@pytest.mark.parametrize("clearance", [0.07, 0.09])
def test_cloth_cut_loose_is_told_with_the_distance_of_its_nearest_quarter_in_millimetres(clearance: float) -> None:
    found = infer_shape(phantom_body(), Garment.of("tube", *tube(clearance=clearance)))
    assert found.verdict == CUT_LOOSE
    (told,) = re.findall(r"(\d+) mm", found.sentence)
    assert int(told) == round(1e3 * found.evidence["nearest quarter of the cloth on the base, m"])
    assert int(told) == pytest.approx(1e3 * clearance, abs=3)
