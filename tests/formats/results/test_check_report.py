from dressform.formats.results.check_report import ShapeRow
from findings import check_report, faults, garment_report


def test_severity_outranks_area_and_area_outranks_depth() -> None:
    grave = ShapeRow("grave", faults(severity="grave"), 0.1)
    wide = ShapeRow("wide", faults(severity="moderate", exposed=2e-3), 0.1)
    deep = ShapeRow("deep", faults(severity="moderate", exposed=1e-3, depth=0.02), 0.1)
    shallow = ShapeRow("shallow", faults(severity="moderate", exposed=1e-3, depth=0.01), 0.1)
    garment = garment_report(rows=(shallow, deep, wide, grave))
    assert [row.label for row in garment.worst_first()] == ["grave", "wide", "deep", "shallow"]
    assert garment.severity == "grave"


def test_a_check_is_faulty_from_moderate_on() -> None:
    verdicts = {}
    for severity in ("clean", "slight", "moderate", "grave"):
        rows = (ShapeRow("base", faults(), 0.1), ShapeRow("belly=1", faults(severity=severity), 0.1))
        verdicts[severity] = check_report(garment_report(rows=rows)).faulty
    assert verdicts == {"clean": False, "slight": False, "moderate": True, "grave": True}


def test_one_garment_followed_two_ways_has_two_keys() -> None:
    assert garment_report(method="smooth").key != garment_report(method="nearest").key
