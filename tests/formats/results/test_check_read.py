"""Results come back as they were written, and what is no results of this version is refused."""

import json
from dataclasses import replace

import pytest

from dressform.causes.results import BODY, TOO_FEW_VERTICES, SharedPlace
from dressform.errors import ArgumentError, FileError
from dressform.formats.results.check_json import results_json
from dressform.formats.results.check_read import read_results
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.check_schema import SCHEMA_NAME, StoredResults
from explanations import causes, cluster, explanation
from findings import check_report, garment_report

SHARED = SharedPlace("exposed", "belly", "", 1.0, (("guernsey smooth", "2"),), BODY, "Two fail.")


def told(report: CheckReport) -> StoredResults:
    return read_results(results_json(report).encode(), path="results.json")


def explained() -> CheckReport:
    every = (explanation(), explanation("", of=cluster("2", fault="pucker")))
    return replace(check_report(), causes=causes(*every, shared=(SHARED,)))


def test_what_was_written_is_read() -> None:
    garment, found = told(explained()).find("guernsey/1")
    assert (garment.key, garment.ease, garment.source.file) == ("guernsey smooth", "keep", "guernsey.glb")
    assert found.cause == TOO_FEW_VERTICES
    assert found.seen[1].weights == {"belly": 0.5}
    assert found.place.position_m == (0.1, 1.12, 0.2)
    assert found.vertices == (5, 6, 7)
    assert found.evidence["edge_length_mm"] == 41.0
    assert found.advice is not None
    assert found.advice.what == "split the edges"


def test_a_cluster_may_be_named_with_its_way_and_must_be_where_ways_were_compared() -> None:
    results = told(explained())
    assert results.find("guernsey smooth/2")[1].place.fault == "pucker"
    both = check_report(garment_report(method="smooth"), garment_report(method="nearest"))
    of = {key: (explanation(of=cluster(garment=key)),) for key in ("guernsey smooth", "guernsey nearest")}
    two = told(replace(both, causes=replace(causes(), of_garment=of)))
    assert two.find("guernsey nearest/1")[0].method == "nearest"
    with pytest.raises(ArgumentError, match="must be one of guernsey smooth/1, guernsey nearest/1, got 'guernsey/1'"):
        two.find("guernsey/1")


@pytest.mark.parametrize("name", ["guernsey/3", "coat/1", "guernsey", "1", ""])
def test_an_unknown_cluster_lists_those_that_there_are(name: str) -> None:
    with pytest.raises(ArgumentError, match=f"one of guernsey/1, guernsey/2, got '{name}'"):
        told(explained()).find(name)


def test_a_long_list_is_cut_and_an_empty_one_says_why() -> None:
    many = causes(*(explanation(of=cluster(str(number))) for number in range(1, 21)))
    with pytest.raises(ArgumentError, match="guernsey/12, 8 more, got"):
        told(replace(check_report(), causes=many)).find("none/1")
    with pytest.raises(ArgumentError, match="none: the garments are clean, or causes were not sought"):
        told(check_report()).find("guernsey/1")


def test_a_cluster_knows_the_shared_places_that_it_belongs_to() -> None:
    results = told(explained())
    assert [one.sentence for one in results.shared_with(*results.find("guernsey/2"))] == ["Two fail."]
    assert results.shared_with(*results.find("guernsey/1")) == ()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"not JSON", "holds no results of a check"),
        (b"[1]", "holds no results of a check"),
        (b"{}", "holds something else, not dressform-results/3"),
        (
            b'{"schema": "dressform-results/2"}',
            "holds dressform-results/2, not dressform-results/3. Run dressform check",
        ),
        (b'{"schema": "dressform-results/3"}', "missing required field `made`"),
    ],
)
def test_what_is_no_results_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(FileError, match=said):
        read_results(data, path="results.json")


@pytest.mark.parametrize(
    ("key", "word", "said"),
    [
        ("fault", "moth", "guernsey smooth/1: names the fault 'moth', not one of in_front, sunk"),
        ("severity", "dire", "guernsey smooth/1: has the severity 'dire', not one of clean, slight"),
    ],
)
def test_word_that_no_report_knows_is_refused(key: str, word: str, said: str) -> None:
    tree = json.loads(results_json(explained()))
    tree["garments"][0]["clusters"][0]["place"][key] = word
    with pytest.raises(FileError, match=said):
        read_results(json.dumps(tree).encode(), path="results.json")


def test_severity_on_one_shape_that_no_report_knows_is_refused() -> None:
    tree = json.loads(results_json(explained()))
    tree["garments"][0]["clusters"][0]["seen"][1]["severity"] = "dire"
    with pytest.raises(FileError, match="has the severity 'dire'"):
        read_results(json.dumps(tree).encode(), path="results.json")


def test_deeply_nested_settings_are_refused() -> None:
    deep = "[" * 100_000 + "]" * 100_000
    with pytest.raises(FileError, match="holds no results of a check"):
        read_results(f'{{"schema": "{SCHEMA_NAME}", "settings": {{"a": {deep}}}}}'.encode(), path="results.json")
