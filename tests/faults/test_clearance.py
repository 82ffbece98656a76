import numpy as np
import pytest

from dressform.faults.graded.clearance import measure_clearance_change


def test_percentiles_of_the_clearance_change_go_by_area_and_by_region():
    change = np.array([0.001, 0.002, 0.003, -0.05])
    areas = np.array([1.0, 1.0, 1.0, 0.0])
    masks = {"arm": np.array([True, False, False, True]), "nowhere": np.zeros(4, dtype=bool)}
    found = measure_clearance_change(change, areas, masks)
    assert found.p50 == pytest.approx(0.002)
    assert found.regions == {"arm": (0.001, 0.001, 0.001)}
