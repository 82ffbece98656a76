"""What a person reads: the worst first, in their units, without colour codes where there is no terminal."""

import io

from rich.console import Console
from rich.table import Table

from dressform.faults.results import Broken
from dressform.formats.results.check_report import ShapeRow
from dressform.report.tables.check import (
    overall_sentences,
    places_table,
    severity_words,
    shape_words,
    shapes_table,
    summary_table,
    verdict_line,
    where,
    worst_places,
)
from findings import MORPHS, check_report, faults, garment_report, place


def printed(table: Table, *, width: int = 160) -> str:
    stream = io.StringIO()
    Console(file=stream, width=width, force_terminal=False).print(table)
    return stream.getvalue()


def test_the_summary_shows_each_figure_at_its_worst() -> None:
    text = printed(summary_table(check_report()))
    line = next(line for line in text.splitlines() if line.startswith("guernsey"))
    assert line.split() == [
        "guernsey", "moderate", "skin", "shows", "1/3", "0.0", "/", "0.0", "12.0", "0.24", "1.25", "2.0", "/", "4.0",
        "21", "11", "-1.4", "/", "+0.6", "–", "21", "60",
    ]  # fmt: skip


def test_the_way_is_named_only_where_several_are_compared() -> None:
    one = printed(summary_table(check_report()))
    two = printed(summary_table(check_report(garment_report(method="smooth"), garment_report(method="nearest"))))
    assert "smooth" not in one
    assert "smooth" in two
    assert "nearest" in two


def test_the_worst_shape_comes_first_and_the_rest_is_cut() -> None:
    lines = printed(shapes_table(garment_report(), MORPHS, shown=2)).splitlines()
    labels = [line.split()[0] for line in lines if line.startswith(("belly", "girth", "base"))]
    assert labels == ["belly=1", "girth=1"]


def test_a_place_is_told_once_at_its_worst_shape() -> None:
    rows = (
        ShapeRow("belly=0.5", faults(places=(place(area=1e-4),), severity="moderate"), 0.1),
        ShapeRow("belly=1", faults(places=(place(area=9e-4, severity="grave"),), severity="grave"), 0.1),
    )
    garment = garment_report(rows=rows)
    assert [(row.label, one.severity) for row, one in worst_places(garment)] == [("belly=1", "grave")]
    text = printed(places_table(garment, MORPHS))
    assert "front panel, torso, front left" in text
    assert "112" in text
    assert "9.0" in text


def test_a_fault_that_no_place_shows_is_named_beside_the_verdict_and_below_the_places() -> None:
    rows = (ShapeRow("belly=1", faults(severity="grave", fault="inside", places=(place(severity="slight"),)), 0.1),)
    garment = garment_report(rows=rows)
    for table in (summary_table(check_report(garment), width=120), shapes_table(garment, MORPHS, width=120)):
        assert " ".join(printed(table, width=120).split()).count("grave cloth inside the body") == 1
    assert overall_sentences(garment, MORPHS) == [
        "grave over the whole garment: cloth inside the body, 1.25 %, at belly=1"
    ]
    same = garment_report(rows=(ShapeRow("belly=1", faults(severity="moderate", places=(place(),)), 0.1),))
    assert overall_sentences(same, MORPHS) == []


def test_clean_places_are_not_told() -> None:
    rows = (ShapeRow("base", faults(places=(place(severity="clean"),)), 0.1),)
    assert worst_places(garment_report(rows=rows)) == []


def test_where_says_each_word_once() -> None:
    assert where(place()) == "front panel, torso, front left"


def test_broken_cloth_is_told_in_words() -> None:
    broken = Broken(
        folded_faces=3, crossing_pairs=2, seam_opening=0.0042, hard_bend=0.0, layer_swaps=1, cut_area=2e-4,
        folded_area=3e-4, swapped_area=1e-4,
    )  # fmt: skip
    rows = (ShapeRow("base", faults(broken=broken, severity="grave", fault="folded"), 0.1),)
    text = printed(summary_table(check_report(garment_report(rows=rows))), width=240)
    assert "3 cm² folded over, 2 cm² cut through, seam open 4.2 mm, 1 cm² under a layer" in text


def test_nothing_printed_to_a_file_carries_control_codes() -> None:
    assert "\x1b" not in printed(summary_table(check_report())) + printed(shapes_table(garment_report(), MORPHS))


def test_a_shape_without_weights_in_its_label_names_the_largest_of_them() -> None:
    def words(label: str, *weights: float) -> str:
        return shape_words(ShapeRow(label, faults(weights=weights), 0.1), ("belly", "girth", "tall", "hips"))

    assert words("belly=1", 1.0, 0.0, 0.0, 0.0) == "belly=1"
    assert words("base", 0.0, 0.0, 0.0, 0.0) == "base"
    assert words("sobol 3", 0.25, -0.75, 0.0, 0.5) == "sobol 3 (girth=-0.75 hips=0.5 belly=0.25)"
    assert words("worst 1", 0.25, -0.75, 1.5, 0.5) == "worst 1 (tall=1.5 girth=-0.75 hips=0.5 …)"


def test_at_eighty_columns_a_garment_is_one_line_that_names_its_gravest_fault_and_place() -> None:
    text = printed(summary_table(check_report(), width=80), width=80)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "All figures: in a wider terminal, or with --tsv, --json or --out." in " ".join(text.split())
    (line,) = [line for line in text.splitlines() if line.startswith("guernsey")]
    assert line.split() == [
        "guernsey",
        "moderate",
        "skin",
        "shows,",
        "12",
        "cm²:",
        "front",
        "panel,",
        "torso,",
        "front",
        "left",
    ]


def test_shapes_at_eighty_columns_drop_no_figure_and_break_no_word() -> None:
    text = printed(shapes_table(garment_report(), MORPHS, width=80), width=80)
    assert max(len(line) for line in text.splitlines()) <= 80
    for told in ("12.0", "2.0 / 4.0", "-1.4 / +0.6"):
        assert told in text
    narrow = " ".join(printed(shapes_table(garment_report(), MORPHS, width=40), width=40).split())
    for told in ("skin shows cm²: 12.0", "depth mm p95 / max: 2.0 / 4.0", "-1.4 / +0.6"):
        assert told in narrow


def test_table_at_a_hundred_and_twenty_columns_says_what_it_leaves_out() -> None:
    text = printed(summary_table(check_report(), width=120), width=120)
    assert "12.0" in text
    assert "0.24" not in text
    assert "not shown, or all zero:" in text
    assert "of hidden %" in text


def test_first_line_says_how_many_garments_fail_and_which() -> None:
    assert verdict_line(check_report()) == "1 of 1 garment fails: guernsey"


def test_first_line_of_slight_faults_counts_no_single_garment() -> None:
    rows = (ShapeRow("base", faults(severity="slight"), 0.1),)
    one, other = garment_report(rows=rows), garment_report("smock", rows=rows)
    assert verdict_line(check_report(one)) == "the garment does not fail; slight faults in guernsey"
    assert verdict_line(check_report(one, other)) == "no garment fails; slight faults in guernsey, smock"


def test_verdict_over_shapes_names_the_gravest_faults_alone() -> None:
    slight, clean = faults(severity="slight", fault="stretch"), faults()
    assert severity_words([clean]) == "clean"
    assert severity_words([clean, slight]) == "slight (stretched)"
    assert severity_words([slight, faults(severity="grave")]) == "grave (skin shows)"
