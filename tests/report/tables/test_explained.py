"""The reasoning is told with its figures: before and after of every counterfactual, evidence in words."""

import io
from dataclasses import replace

from msgspec import structs
from rich.console import Console
from rich.table import Table

from dressform.causes.evidence import EVIDENCE
from dressform.causes.evidence_words import evidence_reading, evidence_words
from dressform.causes.results import Explanation
from dressform.formats.results.check_json import results_json
from dressform.formats.results.check_read import read_results
from dressform.formats.results.check_schema import StoredGarment
from dressform.formats.results.cluster_schema import StoredCluster
from dressform.report.tables.explained import (
    amount_words,
    cause_sentence,
    evidence_table,
    explained_title,
    seen_table,
    spot_words,
    tried_table,
)
from explanations import causes, cluster, explanation
from findings import check_report


def told(one: Explanation) -> tuple[StoredGarment, StoredCluster]:
    text = results_json(replace(check_report(), causes=causes(one)))
    return read_results(text.encode(), path="results.json").find("guernsey/1")


def printed(table: Table) -> list[str]:
    stream = io.StringIO()
    Console(file=stream, width=140, force_terminal=False).print(table)
    return [" ".join(line.split()) for line in stream.getvalue().splitlines()]


def test_the_title_names_garment_way_cluster_and_fault() -> None:
    assert explained_title(*told(explanation())) == "guernsey (smooth), place 1: skin shows"


def test_a_spot_says_which_mesh_its_vertex_belongs_to() -> None:
    words = spot_words(told(explanation())[1])
    assert words == ("front panel, torso, front left, 112 cm above the ground, 12.0 cm²; worst at vertex 7 of the body")
    assert spot_words(told(explanation(of=cluster(fault="depth")))[1]).endswith("of the cloth")


def test_shapes_are_told_worst_first_and_the_rest_is_counted() -> None:
    _, found = told(explanation())
    assert printed(seen_table(found))[2:] == ["belly=1 moderate 12 cm² belly=1", "belly=0.5 slight 6 cm² belly=0.5"]
    assert printed(seen_table(found, shown=1))[-1] == "and 1 more"


def test_each_counterfactual_is_told_with_the_fault_before_and_after() -> None:
    lines = printed(tried_table(told(explanation())[1]))
    assert lines[2] == "too few vertices where the body bends with another 0 12 cm² 1.2 cm² 90 % 90 %"
    assert len(lines) == 5


def test_a_fault_that_is_nothing_cannot_go() -> None:
    found = structs.replace(told(explanation())[1], measured=0.0)
    assert "0 cm² 1.2 cm² 0 % 90 %" in printed(tried_table(found))[2]


def test_next_to_nothing_is_told_as_nothing() -> None:
    found = told(explanation())[1]
    assert amount_words(found, 2.27e-6) == "0 cm²"
    assert amount_words(found, 0.05) == "0.05 cm²"


def test_evidence_is_told_in_words_with_its_unit() -> None:
    lines = printed(evidence_table(told(explanation(evidence={"rim_step/belly": 0.0118, "footprint": 0.0812}))[1]))
    assert lines[2] == "step of the morph at the rim of the rigid patch, at weight 1: belly 11.8 mm"
    assert lines[3] == "skin under a unit of cloth 0.0812"


def test_every_evidence_that_is_written_can_be_told() -> None:
    for name, figure in EVIDENCE.items():
        _, unit, written = evidence_reading(f"{name}/belly", 1.0)
        assert evidence_words(written) == (f"{figure.words}: belly", unit)


def test_the_cause_is_one_sentence_and_so_is_its_absence() -> None:
    assert cause_sentence(told(explanation())[1]) == (
        "too few vertices where the body bends: 90 % of the fault goes with it. It lies with the garment."
    )
    none = told(explanation(""))[1]
    assert cause_sentence(none) == "None of these takes enough away; the nearest, with another 0, takes 90 %."
    assert (
        cause_sentence(structs.replace(none, shares=none.shares[2:]))
        == "Nothing that was swapped takes any of it away."
    )
    assert cause_sentence(structs.replace(none, shares=())) == "No counterfactual applies here."
