"""A gate's forms hold whatever name a garment has: valid documents, one case a garment, nothing that acts by itself."""

import json
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest

from dressform.formats.gate.judged import GateVerdict
from dressform.formats.guards.file_names import path_text
from dressform.formats.results.failed import FailedGarment
from dressform.report.gate.junit import junit_xml
from dressform.report.gate.markdown import markdown_summary
from dressform.report.gate.sarif import sarif_json
from gates import fault, line, verdict
from nodetools import FOLDER

SCHEMA = FOLDER / "node_modules/@microsoft/jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json"
NAMES = (
    "a\"b'c", "new\nline\r\ttab", "<script>alert(1)</script>", "nul\x00bell\x07esc\x1b[31m", "lone\udce9half\ud800",
    "with spaces", "=cmd()|x", "a|b`c`*d*_e_[x](http://e)![y](z)", "turned\u202eround\u200f\u2066", "n" * 300, "Case",
    "case", "&amp;", "]]>", "\ufffe\uffff", "two\u2028lines\u2029", "@user #12", "~~~", "```", "www.example.org",
    "- item", "1. first", "> quote", "\\|pipe", "$x$ <!-- c -->", "a.b:c%d?e#f", "../../up", "--option",
)  # fmt: skip


def hostile() -> GateVerdict:
    failed = tuple(
        FailedGarment(name=f"bad {name}", file=f"w/{name}.glb", stage="read", reason=name, method=name)
        for name in NAMES
    )
    return verdict(*(line(name, fault()) for name in NAMES), failed=failed)


# What the form of Jenkins and Ant knows of each element; `file` is GitLab's, and others pass it over. Common practice.
JUNIT: dict[str, tuple[set[str], set[str], tuple[str, ...]]] = {
    "testsuites": ({"name", "time", "tests", "failures", "disabled", "errors"}, set(), ("testsuite",)),
    "testsuite": (
        {
            "name",
            "tests",
            "failures",
            "errors",
            "time",
            "disabled",
            "skipped",
            "timestamp",
            "hostname",
            "id",
            "package",
        },
        {"name", "tests"},
        ("properties", "testcase", "system-out", "system-err"),
    ),
    "testcase": (
        {"name", "assertions", "time", "classname", "status", "file"},
        {"name", "classname"},
        ("skipped", "error", "failure", "system-out", "system-err"),
    ),
    "failure": ({"type", "message"}, {"type"}, ()),
    "error": ({"type", "message"}, {"type"}, ()),
    "system-out": (set(), set(), ()),
}


def misfits(element: ElementTree.Element) -> list[str]:
    """What does not fit the form, below an element."""
    known, needed, children = JUNIT[element.tag]
    found = [f"{element.tag}: {name}" for name in set(element.attrib) ^ (set(element.attrib) & known | needed)]
    order = [children.index(child.tag) if child.tag in children else -1 for child in element]
    found += [f"{element.tag}: {order}"] if -1 in order or order != sorted(order) else []
    return found + [one for child in element for one in misfits(child)]


def test_junit_is_well_formed_and_of_the_common_form_with_a_case_for_each_name() -> None:
    root = ElementTree.fromstring(junit_xml(hostile()).encode())
    assert misfits(root) == []
    names = [case.get("name") for case in root.iter("testcase")]
    assert len(names) == len(set(names)) == 2 * len(NAMES)
    assert names[1] == "new\nline\r\ttab (smooth)"
    assert root.get("failures") == root.get("errors") == str(len(NAMES))


def test_the_check_of_the_form_finds_what_does_not_fit() -> None:
    root = ElementTree.fromstring("<testsuites colour='red'><testsuite><testcase name='a' classname='b'>"
                                  "<system-out/><failure type='x'/></testcase></testsuite></testsuites>")  # fmt: skip
    assert sorted(misfits(root)) == [
        "testcase: [3, 2]", "testsuite: name", "testsuite: tests", "testsuites: colour",
    ]  # fmt: skip


@pytest.mark.node
def test_sarif_holds_to_the_whole_published_schema() -> None:
    if not SCHEMA.is_file():
        pytest.skip("the schema is not installed: run npm ci --prefix tests/node")
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    document: dict[str, Any] = json.loads(sarif_json(hostile()).encode())
    validator = jsonschema.Draft4Validator(schema, format_checker=jsonschema.FormatChecker())
    assert [f"{list(one.path)}: {one.message}" for one in validator.iter_errors(document)] == []
    document["runs"][0]["results"][0]["level"] = "dreadful"
    document["runs"][0]["columnKind"] = 7
    assert len(list(validator.iter_errors(document))) >= 2


def test_addresses_in_sarif_are_of_allowed_characters_and_lead_back_to_the_file() -> None:
    (run,) = json.loads(sarif_json(hostile()).encode())["runs"]
    addresses = [one["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for one in run["results"]]
    assert all(re.fullmatch(r"[A-Za-z0-9\-._~/%]+", address) for address in addresses)
    assert len({json.dumps(one["partialFingerprints"]) for one in run["results"]}) == len(NAMES)
    odd = Path("w/caf\udce9.glb")  # a name that is no UTF-8, as results carry it
    told = FailedGarment(name="caf%E9", file=path_text(odd), stage="read", reason="no glTF")
    (run,) = json.loads(sarif_json(verdict(failed=(told,))))["runs"]
    place = run["invocations"][0]["toolExecutionNotifications"][0]["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "w/caf%E9.glb"


def test_no_name_acts_in_markdown() -> None:
    text = markdown_summary(hostile())
    text.encode()
    lines = text.splitlines()
    rows = [one for one in lines if one.startswith("| ") and "moderate" in one]
    assert len(rows) == len(NAMES)
    assert all(len(re.findall(r"(?<!\\)\|", row)) == 4 for row in rows)  # as many cells as headings
    assert sum(one.startswith("- ") for one in lines) == len(NAMES)
    bare = re.sub(r"\\.", "", text)  # what is left means something to Markdown
    assert not re.search(r"[<>`*\[\]~$]|https?:|www\.|@\w|!\[", bare.replace("\u2060", " "))
    assert not re.search("[\x00-\x08\x0b-\x1f\u200f\u202e\u2066]", text)
    assert not re.search(r"^- (- |\d+\. |>)", text, re.MULTILINE)


def test_every_message_of_sarif_is_one_line_whatever_names_hold() -> None:
    run = json.loads(sarif_json(hostile()))["runs"][0]
    told = [*run["results"], *run["invocations"][0]["toolExecutionNotifications"]]
    texts = [one["message"]["text"] for one in told]
    assert len(texts) == 2 * len(NAMES)
    assert all(len(text.splitlines()) == 1 for text in texts)
    assert any(text.startswith("new line tab (") for text in texts)
