import csv
import io
from dataclasses import replace

from dressform.causes.results import TOO_FEW_VERTICES
from dressform.formats.results.check_csv import clusters_csv, results_csv
from explanations import causes, explanation
from findings import check_report, garment_report


def test_there_is_one_row_per_garment_way_and_shape_with_the_figures_of_the_json() -> None:
    report = check_report(garment_report(method="smooth"), garment_report(method="nearest"))
    rows = list(csv.DictReader(io.StringIO(results_csv(report))))
    assert len(rows) == 6
    assert {(row["garment"], row["method"]) for row in rows} == {("guernsey", "smooth"), ("guernsey", "nearest")}
    worst = rows[0]
    assert worst["shape"] == "belly=1"
    assert float(worst["show_through.exposed_cm2"]) == 12.0
    assert float(worst["show_through.depth_max_mm"]) == 4.0
    assert worst["severity.exposed"] == "moderate"
    assert not any("girths" in name for name in worst)


def test_there_is_one_row_per_cluster_with_its_cause_and_advice() -> None:
    report = replace(check_report(), causes=causes(explanation(), explanation("")))
    rows = list(csv.DictReader(io.StringIO(clusters_csv(report))))
    assert [(row["garment"], row["cause"], row["share"]) for row in rows] == [
        ("guernsey", TOO_FEW_VERTICES, "0.9"), ("guernsey", "", "0.9")
    ]  # fmt: skip
    assert (rows[0]["value"], rows[0]["unit"], rows[0]["shape"]) == ("12.0", "cm²", "belly=1")
    assert rows[0]["what"] == "split the edges"
    assert rows[1]["what"] == ""


def test_a_table_of_no_clusters_has_its_headings() -> None:
    assert clusters_csv(check_report()).startswith("garment,method,name,fault,severity,")
