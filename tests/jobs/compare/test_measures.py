"""Every graded fault is compared, by the value that it is graded by, in its unit."""

import pytest

from dressform.faults.registry import ALL_FAULTS
from dressform.fit.make import make_fit
from dressform.formats.results.check_json import to_results
from dressform.garment.following import Following
from dressform.jobs.check import check
from dressform.jobs.compare.measures import MEASURES, SETUP
from phantoms import phantom_body, phantom_tube


def test_every_graded_fault_is_compared() -> None:
    assert {measure.key for measure in MEASURES} - {SETUP} == {fault.key for fault in ALL_FAULTS}


def test_a_compared_value_is_the_graded_one() -> None:
    fit = make_fit(phantom_body(), phantom_tube(rings=48, sides=120), Following(method="nearest"))
    result = check(fit, shapes=0, causes=False)
    (garment,) = to_results(result.report).garments
    by_label = {row.label: row for row in result.swept.rows}
    compared = 0
    for shape in garment.shapes[:4]:
        for measure in MEASURES:
            value = measure.value(garment, shape)
            if measure.key != SETUP and value is not None:
                fault = next(one for one in ALL_FAULTS if one.key == measure.key)
                graded = fault.value(by_label[shape.label].faults) * fault.factor
                assert value == pytest.approx(graded, rel=1e-4, abs=1e-6), measure.key
                compared += graded > 0
    assert compared >= 8
