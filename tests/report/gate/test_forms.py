"""The verdict of a gate in the forms that CI systems read: counts add up, odd names survive."""

import json
from datetime import timedelta
from xml.etree import ElementTree

import jsonschema
import msgspec

from dressform.formats.gate.judged import GateVerdict
from dressform.formats.gate.rules_file import Rules
from dressform.formats.results.failed import FailedGarment
from dressform.report.gate.junit import junit_xml
from dressform.report.gate.markdown import markdown_summary
from dressform.report.gate.sarif import sarif_json
from dressform.report.tables.wardrobe import wardrobe_table
from gates import TODAY, excuse, fault, line, verdict

BROKEN = FailedGarment(name="bad", file="wardrobe/bad one.glb", stage="read", reason="no glTF\x00")
SARIF_NEEDS = {
    "type": "object",
    "required": ["version", "runs"],
    "properties": {
        "version": {"const": "2.1.0"},
        "runs": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["tool"],
                "properties": {
                    "tool": {
                        "type": "object",
                        "required": ["driver"],
                        "properties": {
                            "driver": {
                                "type": "object",
                                "required": ["name"],
                                "properties": {
                                    "rules": {"type": "array", "uniqueItems": True, "items": {"required": ["id"]}}
                                },
                            }
                        },
                    },
                    "invocations": {"items": {"required": ["executionSuccessful"]}},
                    "results": {
                        "items": {
                            "required": ["message"],
                            "properties": {
                                "level": {"enum": ["none", "note", "warning", "error"]},
                                "message": {"required": ["text"], "additionalProperties": {}},
                                "ruleIndex": {"type": "integer", "minimum": 0},
                                "suppressions": {
                                    "items": {
                                        "required": ["kind"],
                                        "properties": {
                                            "kind": {"enum": ["inSource", "external"]},
                                            "status": {"enum": ["accepted", "underReview", "rejected"]},
                                        },
                                    }
                                },
                            },
                        }
                    },
                },
            },
        },
    },
}
"""What SARIF 2.1.0 requires of the properties that are written: sections 3.13, 3.14, 3.18 to 3.20, 3.27, 3.35."""


def mixed() -> GateVerdict:
    rules = Rules(excuses=(excuse(TODAY), excuse(TODAY - timedelta(days=3), garment="old", name="")), tucks_cm2=10.0)
    lines = [
        line("old", fault("exposed", "grave")),
        line("oil<skin>|1", fault()),
        line("boots", tucked=40),
        line("cap"),
    ]
    return verdict(*lines, rules=rules, failed=(BROKEN,))


def test_junit_counts_each_garment_once_and_its_failures() -> None:
    root = ElementTree.fromstring(junit_xml(mixed()))
    (suite,) = root
    assert (suite.get("tests"), suite.get("failures"), suite.get("errors")) == ("5", "2", "1")
    assert len(suite.findall("testcase")) == 5
    assert [one.get("type") for one in suite.iter("failure")] == ["grave", "tucks"]
    assert "its excuse ran out" in next(suite.iter("failure")).get("message", "")
    assert "do: at the hem" in (next(suite.iter("failure")).text or "")
    assert "old stock" in (next(suite.iter("system-out")).text or "")
    assert "\x00" not in junit_xml(mixed())


def test_sarif_has_what_its_standard_requires_and_a_suppression_for_each_excuse() -> None:
    document = json.loads(sarif_json(mixed()))
    jsonschema.validate(document, SARIF_NEEDS)
    (run,) = document["runs"]
    rules = [one["id"] for one in run["tool"]["driver"]["rules"]]
    assert [rules[one["ruleIndex"]] == one["ruleId"] for one in run["results"]] == [True] * 3
    assert [(one["ruleId"], one["level"], "suppressions" in one) for one in run["results"]] == [
        ("exposed", "error", False),
        ("pucker", "warning", True),
        ("tucked", "warning", False),
    ]
    addresses = [one["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for one in run["results"]]
    assert addresses[1] == "wardrobe/oil%3Cskin%3E%7C1.glb"
    assert run["invocations"][0]["executionSuccessful"] is False
    assert len({json.dumps(one["partialFingerprints"]) for one in run["results"]}) == 3


def test_the_summary_tells_why_what_to_do_and_what_has_run_out_and_no_name_breaks_it() -> None:
    text = markdown_summary(mixed())
    assert text.startswith(
        "## dressform: gate failed: 2 of 5 garments accepted (nothing moderate or worse), 1 of them excused"
    )
    assert "| old (smooth) | grave: skin shows, 210 ‱ at belly=1 (its excuse ran out on 2026-11-27) |" in text
    assert "Body keeper: 4 garments checked, 1 could not be, in 2 s." in text
    assert "### Excuses that have run out, whose faults count again" in text
    assert "oil&lt;skin&gt;\\|1" in text
    assert "- bad: not read: no glTF" in text


def test_a_dash_under_do_first_is_explained_where_there_is_one() -> None:
    untried = msgspec.structs.replace(line("cap", fault()), actions=())
    for lines, told in ((line("old", fault()),), False), ((untried,), True):
        assert ("nothing that was tried helps" in markdown_summary(verdict(*lines))) is told
        caption = str(wardrobe_table(lines).caption or "")
        assert ("do first –: nothing that was tried helps; with --no-causes nothing is tried" in caption) is told


def test_a_verdict_that_passes_says_so_in_every_form() -> None:
    found = verdict(line("cap"))
    assert "gate passed" in markdown_summary(found)
    assert json.loads(sarif_json(found))["runs"][0]["results"] == []
    assert ElementTree.fromstring(junit_xml(found)).get("failures") == "0"
