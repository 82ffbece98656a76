"""The report shows the worst stances as pictures, and shapes against stances as a heat map."""

import re

import numpy as np
import pytest

import dressform as df
from dressform.body.shape_settings import ShapeSettings
from dressform.jobs.report import make_page
from dressform.report.html.stances import heat_map
from dressform.report.page.shapes import page_shapes
from limbs import MORPHS, bend, limb, sleeve, sleeved

STANCES = [bend(20.0), bend(60.0)]


@pytest.fixture(scope="module")
def result() -> df.CheckResult:
    fit = sleeved(limb(along=25, around=16), sleeve(along=19, around=16), follows=0.5)
    shapes = ShapeSettings(ends=False, strongest=0, sobol=2)
    return df.check(fit, shapes=shapes, stances=STANCES, causes=False)


def test_heat_map_has_the_severity_and_the_skin_of_every_row_at_a_stance(result: df.CheckResult) -> None:
    garment = result.report.garments[0]
    heat = heat_map(garment, MORPHS)
    assert heat.stances == ("rest", "bent 20°", "bent 60°")
    told = [cell for _, cells in heat.rows for cell in cells if cell.severity]
    shapes = {row.faults.weights.tobytes() for row in garment.rows if row.stance}
    assert len(heat.rows) == len(shapes)
    assert len(told) == sum(row.faults.weights.tobytes() in shapes for row in garment.rows)
    most = max(row.faults.show_through.exposed_area for row in garment.rows)
    assert f"{most * 1e4:.0f}" in {cell.text for cell in told}
    assert any(cell.severity == garment.severity for cell in heat.rows[0][1])


def test_report_draws_the_worst_stances_and_its_sliders_know_only_shapes_at_rest(result: df.CheckResult) -> None:
    report = make_page(result)
    drawn = [name for name in report.pictures if "-stance-" in name]
    assert drawn
    assert "<h2>At stances</h2>" in report.html
    assert report.html.count('class="r-heat-') == sum(
        bool(cell.severity) for _, cells in heat_map(result.report.garments[0], MORPHS).rows for cell in cells
    )
    first = report.pictures[drawn[0]]
    worst = next(name for name in report.pictures if name.endswith("-worst.png"))
    assert first.shape != report.pictures[worst].shape or np.any(first != report.pictures[worst])
    at_rest = {row.faults.weights.tobytes() for row in result.report.garments[0].at_rest.rows}
    assert {shape.weights.tobytes() for shape in page_shapes(result.report)} == at_rest
    assert re.search(r"bent \d+°, shape", report.html)
