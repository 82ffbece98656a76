"""The tables beside the charts hold what the charts draw."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.formats.results.page.charts import ClearanceChart
from dressform.report.html.chart_tables import TemplateTable, clearance_table, pairs_table, slider_table, telling
from dressform.report.page.charts import along_sliders, clearance_edges, pair_values
from findings import MORPHS, faults

BOX = Range(MORPHS, np.array([-0.5, 0.0, 0.0]), np.ones(3))


def skin(cm2: float, *weights: float):
    return faults(exposed=cm2 * 1e-4, severity="moderate" if cm2 else "clean", weights=tuple(map(float, weights)))


def test_sliders_are_told_by_their_ends_and_their_worst_the_worst_slider_first() -> None:
    rows = [skin(0, 0, 0, 0), skin(2, -0.5, 0, 0), skin(4, 1, 0, 0), skin(9, 0, 0.5, 0), skin(1, 0, 1, 0)]
    table = slider_table(along_sliders(BOX, rows), "exposed", "cm²")
    assert table is not None
    assert table.title == "skin shows along each slider, the others at the base"
    assert table.rows[0] == ("girth", "0 cm²", "9 cm²", "1 cm²", "0.5")
    assert table.rows[1] == ("belly", "2 cm²", "4 cm²", "4 cm²", "1")


def test_a_slider_along_which_nothing_is_wrong_has_no_row() -> None:
    rows = [skin(0, 0, 0, 0), skin(0, -0.5, 0, 0), skin(0, 1, 0, 0), skin(9, 0, 0.5, 0)]
    table = slider_table(along_sliders(BOX, rows), "exposed", "cm²")
    assert table is not None
    assert [row[0] for row in table.rows] == ["girth"]


def test_a_fault_that_no_slider_changes_has_no_table() -> None:
    """Skin in front before anything moves filled a table with one figure."""
    rows = [skin(7, 0, 0, 0), skin(7, -0.5, 0, 0), skin(7, 1, 0, 0), skin(7, 0, 0.5, 0)]
    assert slider_table(along_sliders(BOX, rows), "exposed", "cm²") is None


def test_a_fault_along_no_slider_has_no_table() -> None:
    assert slider_table(along_sliders(BOX, [skin(0, 0, 0, 0)]), "exposed", "cm²") is None


@pytest.mark.parametrize("reach", [12.0, 77.0, 140.0, 900.0])
def test_shares_of_clearance_add_up_between_bounds_that_are_edges_of_bins(reach: float) -> None:
    edges = clearance_edges(reach)
    middles = (edges[:-1] + edges[1:]) / 2
    shares = np.full(len(middles), 1.0 / len(middles))
    chart = ClearanceChart(edges=tuple(edges), base=tuple(shares), before=tuple(shares), after=None)
    table = clearance_table(chart)
    wanted = [np.mean((middles >= low) & (middles < high)) for low, high in
              ((-99, 0), (0, 10), (10, 20), (20, 40), (40, 9999))]  # fmt: skip
    assert [row[0] for row in table.rows] == ["as modelled, base body", "as it follows, worst shape"]
    assert list(table.rows[0][1:]) == [f"{100 * share:.1f} %" for share in wanted]


def test_pairs_are_told_once_with_one_slider_alone_on_the_diagonal() -> None:
    rows = [skin(0, 0, 0, 0), skin(3, 1, 0, 0), skin(8, 1, 1, 0)]
    table = pairs_table(pair_values(BOX, rows, "exposed"), BOX.names)
    assert table is not None
    assert table.headings == ("", "belly", "girth")
    assert table.rows == (("belly", "3", ""), ("girth", "8", "–"))
    assert pairs_table(pair_values(BOX, rows[:2], "exposed"), BOX.names) is None


def test_a_column_that_says_nothing_or_the_same_of_all_is_left_out() -> None:
    table = TemplateTable(
        "garments",
        ("garment", "skin cm²", "depth mm", "pucker", "broken", "a shape ms"),
        (False, True, True, True, False, True),
        (("coat", "0.0", "1.2", "17", "–", "3"), ("skirt", "0.0", "0.0", "17", "–", "5")),
    )
    assert telling(table).headings == ("garment", "depth mm")
    assert telling(table).rows == (("coat", "1.2"), ("skirt", "0.0"))
    alone = replace(table, rows=table.rows[:1])
    assert telling(alone).headings == ("garment", "depth mm", "pucker")
