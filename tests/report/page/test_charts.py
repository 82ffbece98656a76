"""Charts say what was measured, where it was measured, and no more."""

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.report.page.charts import (
    Clearances,
    Spread,
    along_sliders,
    clearance_edges,
    clearance_shares,
    garment_charts,
    missing_slider_shapes,
    pair_values,
)
from findings import MORPHS, faults

BOX = Range(MORPHS, np.array([-0.5, 0.0, 0.0]), np.ones(3))


def skin(cm2: float, *weights: float):
    return faults(exposed=cm2 * 1e-4, severity="moderate" if cm2 else "clean", weights=tuple(map(float, weights)))


def test_along_a_slider_all_other_sliders_are_at_the_base() -> None:
    rows = [skin(9, 1, 1, 0), skin(4, 1, 0, 0), skin(0, 0, 0, 0), skin(2, -0.5, 0, 0), skin(7, 0, 0.5, 0)]
    charts = along_sliders(BOX, rows)
    assert charts["belly"].at == (-0.5, 0.0, 1.0)
    assert charts["belly"].values == {"exposed": (pytest.approx(2), 0.0, pytest.approx(4))}
    assert charts["girth"].at == (0.0, 0.5)
    assert charts["girth"].values == {"exposed": (0.0, pytest.approx(7))}
    assert charts["tall"].at == (0.0,)


def test_only_what_was_not_measured_is_missing() -> None:
    measured = [np.array([0.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])]
    missing = missing_slider_shapes(BOX, measured, points=3)
    expected = [[-0.5, 0, 0], [0.25, 0, 0], [0, 0.5, 0], [0, 0, 0.5], [0, 0, 1]]
    np.testing.assert_allclose([shape.weights for shape in missing], expected)
    assert missing_slider_shapes(BOX, [*measured, *(shape.weights for shape in missing)], points=3) == []


def test_a_pair_shows_its_worst_combination_both_ways_round() -> None:
    rows = [skin(0, 0, 0, 0), skin(3, 1, 0, 0), skin(5, 1, 1, 0), skin(8, -0.5, 1, 0), skin(99, 1, 1, 1)]
    pairs = pair_values(BOX, rows, "exposed")
    assert pairs.unit == "cm²"
    assert pairs.values == (
        (pytest.approx(3), pytest.approx(8), None),
        (pytest.approx(8), None, None),
        (None, None, None),
    )
    assert pairs.weights[0][1] == (-0.5, 1.0)
    assert pairs.weights[1][0] == (1.0, -0.5)
    assert pairs.weights[0][0] == (1.0, 1.0)


def test_shares_of_clearance_count_area_in_their_bin() -> None:
    areas = np.array([1.0, 2.0, 1.0, 0.0])
    shares = clearance_shares(
        Clearances(Spread(np.array([3.0, 3.9, 11.0, 5.0]), areas), Spread(np.array([-99.0, -1.0, 39.0, 0.0]), areas))
    )
    edges = np.array(shares.edges)

    def bin_of(value: float) -> int:
        return int(np.searchsorted(edges, value, side="right")) - 1

    base = np.zeros(len(edges) - 1)
    base[[bin_of(3.0), bin_of(11.0)]] = 0.75, 0.25
    np.testing.assert_allclose(shares.base, base)
    assert shares.before[0] == pytest.approx(0.25)
    assert shares.before[-1] == pytest.approx(0.25)
    assert shares.before[bin_of(-1.0)] == pytest.approx(0.5)
    assert shares.after is None


@pytest.mark.parametrize("reach", [-5.0, 12.0, 40.0, 49.9, 77.0, 140.0, 900.0])
def test_bins_reach_as_far_as_the_cloth_hangs_and_keep_the_skin_as_a_bound(reach: float) -> None:
    edges = clearance_edges(reach)
    assert 0.0 in edges
    assert len(edges) <= 32
    assert edges[-1] >= min(max(reach, 40.0), 200.0)
    np.testing.assert_allclose(np.diff(edges), edges[1] - edges[0])


def test_cloth_that_hangs_beyond_all_bins_counts_in_the_last() -> None:
    far = Spread(np.array([500.0, 600.0]), np.array([1.0, 3.0]))
    assert clearance_shares(Clearances(far, far)).base[-1] == pytest.approx(1.0)


def test_a_repair_with_more_vertices_has_shares_of_its_own_area() -> None:
    few, many = Spread(np.array([5.0]), np.array([1.0])), Spread(np.array([5.0, 15.0]), np.array([3.0, 1.0]))
    after = clearance_shares(Clearances(few, few, many)).after
    assert sum(after) == pytest.approx(1.0)
    assert max(after) == pytest.approx(0.75)


def test_the_charts_of_a_garment_are_about_its_gravest_fault() -> None:
    rows = [skin(0, 0, 0, 0), faults(depth=0.004, fault="depth", severity="moderate", weights=(1.0, 0.0, 0.0))]
    charts = garment_charts(BOX, rows, worst=rows[1])
    assert (charts.pairs.fault, charts.clearance) == ("depth", None)
    assert charts.pairs.values[0][0] == pytest.approx(4.0)
