"""The JSON says what was found, obeys its schema, and every field of the schema is documented."""

import json
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import msgspec
import pytest

from dressform.causes.action import Action, Effect, Tried
from dressform.causes.evidence import EVIDENCE
from dressform.causes.evidence_words import evidence_reading
from dressform.causes.results import BODY, CAUSES, GARMENT, OWNERS, TOO_FEW_VERTICES, SharedPlace
from dressform.faults.registry import FAULTS
from dressform.faults.results import SEVERITIES
from dressform.formats.results.check_json import results_json
from dressform.formats.results.check_report import CheckReport, ShapeRow
from dressform.formats.results.check_schema import SCHEMA_NAME
from dressform.formats.results.json_schema import results_schema
from explanations import causes, explanation
from findings import check_report, faults, garment_report, place


def results(report: CheckReport) -> dict[str, Any]:
    return json.loads(results_json(report))


DOCUMENT = Path(__file__).resolve().parents[3] / "docs" / "results.md"


def properties(schema: Any) -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(schema, dict):
        yield from schema.get("properties", {}).items()
        for value in schema.values():
            yield from properties(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from properties(value)


def test_a_report_obeys_the_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(results_schema())
    jsonschema.validate(json.loads(results_json(check_report())), results_schema())


@pytest.mark.parametrize("name", ["severity", "garments", "body", "settings"])
def test_the_schema_refuses_a_report_that_lacks_a_field(name: str) -> None:
    broken = results(check_report())
    del broken[name]
    with pytest.raises(jsonschema.ValidationError, match=f"'{name}' is a required property"):
        jsonschema.validate(broken, results_schema())


def test_the_schema_refuses_a_field_it_does_not_know() -> None:
    broken = results(check_report())
    broken["garments"][0]["shapes"][0]["show_through"]["exposed_mm2"] = 1.0
    with pytest.raises(jsonschema.ValidationError, match="exposed_mm2"):
        jsonschema.validate(broken, results_schema())


def test_units_are_those_people_read() -> None:
    found = faults(exposed=12e-4, depth=0.004, severity="moderate", places=(place("depth", value=0.004),))
    report = check_report(garment_report(rows=(ShapeRow("belly=1", found, 0.06),)))
    shape = results(report)["garments"][0]["shapes"][0]
    through = shape["show_through"]
    assert through["exposed_cm2"] == pytest.approx(12.0)
    assert through["exposed_percent"] == pytest.approx(0.24)
    assert through["inside_percent"] == pytest.approx(1.25)
    assert through["depth_max_mm"] == pytest.approx(4.0)
    assert shape["girth_ease"]["waist"] == {"base_mm": 120.0, "shape_mm": 110.0}
    assert shape["ms"] == pytest.approx(60.0)
    assert shape["places"][0]["value"] == pytest.approx(4.0)
    assert shape["places"][0]["unit"] == "mm"
    assert shape["places"][0]["height_mm"] == pytest.approx(1120.0)
    assert shape["weights"] == {"belly": 1.0, "tall": 0.25}


def test_garments_and_shapes_come_worst_first() -> None:
    clean = garment_report("clogs", rows=(ShapeRow("base", faults(), 0.05),))
    document = results(check_report(clean, garment_report()))
    assert [garment["name"] for garment in document["garments"]] == ["guernsey", "clogs"]
    assert [shape["label"] for shape in document["garments"][0]["shapes"]] == ["belly=1", "girth=1", "base"]
    assert document["garments"][0]["worst_shape"] == "belly=1"
    assert document["severity"] == "moderate"


def test_pictures_are_named_at_their_garment() -> None:
    assert results(check_report())["garments"][0]["pictures"] == ["guernsey-base.png"]


def test_a_figure_that_is_no_number_is_refused_not_written() -> None:
    with pytest.raises(ValueError, match="Out of range float values"):
        results_json(check_report(garment_report(rows=(ShapeRow("base", faults(exposed=math.nan), 0.05),))))


def test_the_schema_knows_the_faults_and_severities_of_the_library() -> None:
    schema = results_schema()
    place = schema["$defs"]["Place"]["properties"]
    assert place["severity"]["enum"] == ["", *SEVERITIES]
    assert place["fault"]["enum"] == ["", *FAULTS]
    assert schema["properties"]["schema"]["const"] == SCHEMA_NAME
    cluster, share = (schema["$defs"][name]["properties"] for name in ("StoredCluster", "StoredShare"))
    assert cluster["cause"]["enum"] == ["", *CAUSES]
    assert cluster["owner"]["enum"] == ["", *dict.fromkeys(OWNERS.values())]
    assert share["cause"]["enum"] == ["", *CAUSES]


SHARED = SharedPlace(
    "exposed", "belly", "front left", 1.02, (("guernsey smooth", "1"), ("guernsey smooth", "2")), BODY, "Two fail."
)


def explained(*every: Any) -> CheckReport:
    return replace(check_report(), causes=causes(*every, shared=(SHARED,)))


def test_clusters_and_shared_places_obey_the_schema() -> None:
    document = json.loads(results_json(explained(explanation(), explanation(""))))
    jsonschema.validate(document, results_schema())
    assert [cluster["cause"] for cluster in document["garments"][0]["clusters"]] == [TOO_FEW_VERTICES, ""]
    assert document["garments"][0]["clusters"][1]["advice"] is None
    assert document["garments"][0]["explain_ms"] == 1500.0
    assert document["shared_places"][0]["clusters"] == ["guernsey smooth/1", "guernsey smooth/2"]
    assert document["shared_places"][0]["height_mm"] == 1020.0


def test_actions_are_stored_with_what_trying_them_did() -> None:
    effects = (Effect("exposed", 12.0, 0.0, "cm²"),)
    tried = Tried("let it out", GARMENT, ("1",), effects, (), True, 1.0)
    action = Action("1", TOO_FEW_VERTICES, "", GARMENT, "belly", ("1",), 0.02, 8, (tried,))
    report = replace(check_report(), causes=replace(causes(explanation()), actions={"guernsey smooth": (action,)}))
    document = json.loads(results_json(report))
    jsonschema.validate(document, results_schema())
    assert msgspec.convert(document["garments"][0]["actions"], tuple[Action, ...]) == (action,)


def test_a_place_shared_with_a_garment_that_is_not_reported_is_not_told() -> None:
    elsewhere = replace(SHARED, clusters=(("guernsey smooth", "1"), ("coat smooth", "2")))
    report = replace(check_report(), causes=causes(explanation(), shared=(elsewhere,)))
    assert results(report)["shared_places"] == []


def test_a_cluster_is_told_in_the_unit_of_its_fault() -> None:
    cluster = results(explained())["garments"][0]["clusters"][0]
    assert (cluster["name"], cluster["place"]["unit"], cluster["place"]["value"]) == ("1", "cm²", pytest.approx(12.0))
    assert cluster["measured"] == pytest.approx(12.0)
    assert cluster["shares"][0]["share"] == 0.9
    assert cluster["shares"][0]["alone"] == pytest.approx(1.2)
    assert [seen["label"] for seen in cluster["seen"]] == ["belly=1", "belly=0.5"]
    assert cluster["seen"][0]["weights"] == {"belly": 1.0}
    assert cluster["seen"][1]["value"] == pytest.approx(6.0)
    assert cluster["vertices"] == [5, 6, 7]


def test_evidence_has_its_unit_in_its_name() -> None:
    evidence = {"edge_length": 0.041, "patch_area/belly": 0.0123, "patch_strain/belly": 0.004, "footprint": 0.08}
    cluster = results(explained(explanation(evidence=evidence)))["garments"][0]["clusters"][0]
    assert cluster["evidence"] == {
        "edge_length_mm": 41.0, "patch_area_cm2/belly": 123.0, "patch_strain_percent/belly": 0.4, "footprint": 0.08
    }  # fmt: skip


def test_every_name_of_evidence_has_a_reading_of_its_own() -> None:
    assert len({evidence_reading(name, 1.0)[2] for name in EVIDENCE}) == len(EVIDENCE)


def test_a_report_without_causes_has_no_clusters() -> None:
    document = results(check_report())
    assert document["garments"][0]["clusters"] == []
    assert document["shared_places"] == []


def test_every_property_of_the_schema_has_a_description_and_stands_in_the_document() -> None:
    schema = results_schema()
    text = DOCUMENT.read_text(encoding="utf-8")
    found = list(properties(schema))
    assert len(found) > 70
    for name, definition in found:
        described = definition if "$ref" not in definition else schema["$defs"][definition["$ref"].split("/")[-1]]
        assert definition.get("description") or described.get("description"), name
        assert f"`{name}`" in text, f"docs/results.md lacks `{name}`"
