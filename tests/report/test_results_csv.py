import csv
import io

from dressform.report.results_csv import results_csv
from findings import check_report, garment_report


def test_there_is_one_row_per_garment_way_and_shape_with_the_figures_of_the_json() -> None:
    report = check_report(garment_report(way="smooth"), garment_report(way="nearest"))
    rows = list(csv.DictReader(io.StringIO(results_csv(report))))
    assert len(rows) == 6
    assert {(row["garment"], row["lift"]) for row in rows} == {("guernsey", "smooth"), ("guernsey", "nearest")}
    worst = rows[0]
    assert worst["shape"] == "belly=1"
    assert float(worst["show_through.exposed_cm2"]) == 12.0
    assert float(worst["show_through.depth_max_mm"]) == 4.0
    assert worst["severity.exposed"] == "plain"
    assert not any("girths" in name for name in worst)
