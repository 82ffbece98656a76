"""An audit in sentences, tables, JSON and pictures."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from rich.console import Console

from audit_phantoms import body_of, clean_body, faulty_body, skin, two_legs
from dressform.audit.audit import audit_body
from dressform.audit.results import BODY_FAULTS, SIDES, Finding, MorphAudit, Spot
from dressform.audit.words import BODY_FAULT_WORDS, SIDE_WORDS, body_sentences, morph_sentences, sentence
from dressform.faults.places import make_place
from dressform.faults.results import SEVERITIES
from dressform.formats.results.audit_json import VERTICES_LISTED, audit_json
from dressform.formats.results.audit_report import AuditReport
from dressform.formats.results.check_report import BodyReport
from dressform.formats.results.json_schema import audit_schema
from dressform.formats.results.record import Source
from dressform.report.pictures.audit import morph_picture, picture_name
from dressform.report.tables.audit import findings_table, morphs_table

DOCUMENT = Path(__file__).resolve().parents[2] / "docs" / "audit.md"


@pytest.fixture(scope="module")
def report() -> AuditReport:
    body = BodyReport(
        "phantom", Source("phantom.obj", "a" * 64), 10562, 21120, 1.7, {"belly": (0.0, 1.0)}, ("A note.",)
    )
    audit = audit_body(faulty_body(), pairs=2)
    made = "2026-11-25T15:00:00+00:00"
    return AuditReport(
        made, {"dressform": "0.1.0"}, {"pairs": 2}, body, audit, 2.0, {"rigid_patch": "pictures/01-rigid-patch.png"}
    )


def morph(report: AuditReport, name: str) -> MorphAudit:
    return next(one for one in report.audit.morphs if one.name == name)


def spot(vertex: int = 7, *, region: str = "back", side: str = "back left") -> Spot:
    place = make_place((0.1, 1.2, 0.0), vertex, region=region, side=side, height=1.17, area=12e-4)
    return Spot(place, np.array([vertex, vertex + 1]))


def found(fault: str, value: float, **figures: float) -> Finding:
    return Finding(fault, "moderate", value, 0.8, (spot(), spot(90, region="", side="front right")), "", figures)


def properties(schema: Any) -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(schema, dict):
        yield from schema.get("properties", {}).items()
        for value in schema.values():
            yield from properties(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from properties(value)


def test_an_audit_obeys_its_schema(report: AuditReport) -> None:
    jsonschema.Draft202012Validator.check_schema(audit_schema())
    jsonschema.validate(json.loads(audit_json(report)), audit_schema())


def test_the_schema_refuses_what_it_does_not_know(report: AuditReport) -> None:
    broken = json.loads(audit_json(report))
    broken["morphs"][0]["moved_mm2"] = 1.0
    with pytest.raises(jsonschema.ValidationError, match="moved_mm2"):
        jsonschema.validate(broken, audit_schema())
    del broken["morphs"][0]["moved_mm2"], broken["severity"]
    with pytest.raises(jsonschema.ValidationError, match="'severity' is a required property"):
        jsonschema.validate(broken, audit_schema())


def test_the_schema_knows_the_words_of_the_library() -> None:
    schema = audit_schema()["$defs"]
    finding = schema["AuditedFinding"]["properties"]
    assert finding["severity"]["enum"] == ["", *SEVERITIES]
    assert finding["fault"]["enum"] == list(BODY_FAULTS)
    assert schema["AuditedMorph"]["properties"]["sides"]["enum"] == list(SIDES)
    assert set(BODY_FAULT_WORDS) == set(BODY_FAULTS)
    assert set(SIDE_WORDS) == set(SIDES)


def test_every_field_and_figure_is_described_in_the_document(report: AuditReport) -> None:
    text = DOCUMENT.read_text(encoding="utf-8")
    for name, definition in properties(audit_schema()):
        described = (
            definition if "$ref" not in definition else audit_schema()["$defs"][definition["$ref"].split("/")[-1]]
        )
        assert definition.get("description") or described.get("description"), name
        assert f"`{name}`" in text, f"docs/audit.md lacks `{name}`"
    for one in json.loads(audit_json(report))["morphs"]:
        for finding in one["findings"]:
            assert all(f"`{name}`" in text for name in finding["figures"]), finding["figures"]
    assert all(f"| `{fault}` |" in text for fault in BODY_FAULTS)


def test_units_are_those_people_read(report: AuditReport) -> None:
    data = next(one for one in json.loads(audit_json(report))["morphs"] if one["name"] == "rigid_patch")
    (finding,) = data["findings"]
    assert (finding["value"], finding["unit"]) == (pytest.approx(12.0), "mm")
    assert data["move_max_mm"] == pytest.approx(12.0)
    assert finding["figures"]["area_cm2"] == pytest.approx(finding["places"][0]["place"]["area_cm2"])
    assert data["picture"] == "pictures/01-rigid-patch.png"
    assert len(finding["places"][0]["vertices"]) == min(VERTICES_LISTED, finding["places"][0]["vertex_count"])


@pytest.mark.parametrize(
    ("finding", "says"),
    [
        (found("stray", 0.0052), "4 vertices leave their neighbours by up to 5.2 mm (back, back left, 117 cm above"),
        (
            found("folded", 3.0, sound_share=0.5),
            "3 triangles turn over at back, back left, 117 cm above the ground, and 1",
        ),
        (found("folded", 3.0, sound_share=0.5), "none up to weight 0.4"),
        (
            found("folded", 3.0, sound_share=0.02),
            "almost from the base body on: even out the moves around vertices 7, 90.",
        ),
        (found("crossing", 1.0, sound_share=0.5, across=0.0), "1 pair of triangles cross"),
        (
            found("crossing", 9.0, sound_share=0.5, across=1.0),
            "Two parts of the body meet, back, back left, 117 cm above",
        ),
        (found("behind", 0.004), "2 separate pieces do not go with the skin beside them, by up to 4.0 mm"),
        (found("islands", 0.00005), "move by up to 0.05 mm"),
        (found("rough", 0.03, largest=0.06), "an index of 0.030 over 1 % of what moves and up to 0.060"),
        (found("extremity", 17e-4, own_motion=0.8, farthest=0.13), "17 cm² of tips"),
        (
            found("lopsided", 0.004, most=0.008, asymmetry=0.3),
            "by 4.0 mm over 5 % of the moved skin and by up to 8.0 mm",
        ),
    ],
)
def test_a_sentence_says_where_how_much_and_what_to_do(finding: Finding, says: str) -> None:
    said = sentence(finding)
    assert says in said
    assert said.endswith(".")
    assert said.count(":") >= 1 or ";" in said


def test_the_same_words_never_serve_two_faults() -> None:
    figures = {
        "rigid_patch": {"area": 1e-2, "step": 0.01, "spacing": 0.01},
        "crossing": {"sound_share": 0.5, "across": 0.0},
        "folded": {"sound_share": 0.5},
        "lopsided": {"most": 0.01},
        "rough": {"largest": 0.05},
        "extremity": {"farthest": 0.1},
    }
    advice = {sentence(found(fault, 0.01, **figures.get(fault, {}))).partition(":")[2] for fault in BODY_FAULTS}
    assert len(advice) == len(BODY_FAULTS)


def test_a_rigid_patch_is_told_how_far_to_fade_out(report: AuditReport) -> None:
    (said,) = morph_sentences(morph(report, "rigid_patch"))
    assert "steps by 12.0 mm" in said
    assert "at least 48 mm" in said


def test_a_morph_that_does_nothing_is_told_so() -> None:
    audit = audit_body(clean_body(), pairs=0)
    (said,) = morph_sentences(next(one for one in audit.morphs if one.name == "nothing"))
    assert said.startswith("It moves nothing")


def test_the_body_says_how_many_pairs_were_looked_at(report: AuditReport) -> None:
    (said,) = body_sentences(report.audit)
    assert said.startswith("2 of 9 pairs of morphs")


def test_tables_name_every_morph_and_finding(report: AuditReport) -> None:
    console = Console(width=180, record=True, file=None, quiet=False)
    with console.capture() as capture:
        console.print(morphs_table(report.audit))
        console.print(findings_table(morph(report, "lopsided")))
    text = capture.get()
    for one in report.audit.morphs:
        assert one.name in text
    assert "left unlike right" in text
    assert "10.3 mm" in text


def test_a_picture_shows_the_finding_in_orange_and_the_rest_by_how_far_it_moves() -> None:
    vertices, faces = skin()
    body = body_of(vertices, faces, {"rigid_patch": faulty_body().deltas[0], "tall": 0.1 * vertices})
    audit = audit_body(body, pairs=0)
    flagged, calm = (morph_picture(body, one).astype(int) for one in audit.morphs)
    red_over_blue = [int(((image[..., 0] - image[..., 2]) > 70).sum()) for image in (flagged, calm)]
    assert red_over_blue[0] > 2000
    assert red_over_blue[1] == 0
    assert flagged.shape[1] > calm.shape[1]


def test_what_lies_in_a_gap_is_shown_from_where_it_can_be_seen() -> None:
    legs = two_legs()
    through = body_of(legs.vertices, legs.faces, {"inward": 1.9 * legs.deltas[0]})
    (one,) = audit_body(through, pairs=0).morphs
    assert [found.fault for found in one.findings] == ["crossing"]
    close = morph_picture(through, one)[40:600, -400:].astype(int)
    assert int(((close[..., 0] - close[..., 2]) > 40).sum()) > 500


def test_a_picture_s_name_holds_no_path(report: AuditReport) -> None:
    vertices, faces = skin()
    odd = audit_body(body_of(vertices, faces, {"../a b/ü": 0.1 * vertices}), pairs=0).morphs[0]
    assert picture_name(3, odd) == "03-a-b.png"
