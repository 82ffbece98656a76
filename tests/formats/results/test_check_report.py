from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from dressform.faults.results import Broken
from dressform.faults.severity import DEFAULT_BANDS, graded_values
from dressform.formats.results.check_report import ShapeRow
from dressform.report.pictures.faults import gravest_fault
from findings import check_report, faults, garment_report


def test_severity_outranks_area_and_area_outranks_depth() -> None:
    grave = ShapeRow("grave", faults(severity="grave"), 0.1)
    wide = ShapeRow("wide", faults(severity="moderate", exposed=2e-3), 0.1)
    deep = ShapeRow("deep", faults(severity="moderate", exposed=1e-3, depth=0.02), 0.1)
    shallow = ShapeRow("shallow", faults(severity="moderate", exposed=1e-3, depth=0.01), 0.1)
    garment = garment_report(rows=(shallow, deep, wide, grave))
    assert [row.label for row in garment.worst_first()] == ["grave", "wide", "deep", "shallow"]
    assert garment.severity == "grave"


def test_shapes_are_ranked_by_the_fault_for_which_the_verdict_is_worst() -> None:
    rows = tuple(
        ShapeRow(f"pierced {area:g}", faults(severity="grave", fault="pierced", broken=broken, exposed=skin), 0.1)
        for area, skin in ((53.0, 1e-5), (137.0, 0.0), (60.0, 2e-5))
        for broken in [Broken(0, 0, 0.0, 0.0, 0, pierced_area=area * 1e-4)]
    )
    garment = garment_report(rows=rows)
    assert [row.label for row in garment.worst_first()] == ["pierced 137", "pierced 60", "pierced 53"]


@given(values=st.lists(st.tuples(st.integers(0, 60), st.floats(0.0, 0.008)), min_size=1, max_size=8))
def test_the_first_shape_has_the_largest_value_of_the_fault_that_the_verdict_names(
    values: list[tuple[int, float]],
) -> None:
    rows = []
    for swaps, bend in values:
        found = faults(broken=Broken(0, 0, 0.0, bend, swaps))
        graded = {fault: DEFAULT_BANDS.grade(fault, value) for fault, value in graded_values(found).items()}
        rows.append(ShapeRow(f"{swaps} {bend}", replace(found, severities=graded), 0.1))
    garment = garment_report(rows=tuple(rows))
    first = garment.worst_first()[0]
    named = gravest_fault(first.faults)
    alike = [row for row in rows if row.faults.severities[named] == garment.severity]
    assert graded_values(first.faults)[named] == max(graded_values(row.faults)[named] for row in alike)


def test_a_check_is_faulty_from_moderate_on() -> None:
    verdicts = {}
    for severity in ("clean", "slight", "moderate", "grave"):
        rows = (ShapeRow("base", faults(), 0.1), ShapeRow("belly=1", faults(severity=severity), 0.1))
        verdicts[severity] = check_report(garment_report(rows=rows)).faulty
    assert verdicts == {"clean": False, "slight": False, "moderate": True, "grave": True}


def test_one_garment_followed_two_ways_has_two_keys() -> None:
    assert garment_report(method="smooth").key != garment_report(method="nearest").key
