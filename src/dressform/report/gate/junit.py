"""A gate's verdict as JUnit XML, which CI systems show as tests: a case for each garment and method.

The form is common practice, no standard: `testsuites`, `testsuite`, `testcase` with `failure`, `error`, `system-out`.
"""

import re
from xml.etree import ElementTree

from dressform.formats.gate.judged import GateVerdict, JudgedGarment

_UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def junit_xml(verdict: GateVerdict) -> str:
    """The document.

    Proof: tests/report/gate/test_forms.py
    """
    count = len(verdict.garments) + len(verdict.failed)
    totals = {
        "tests": str(count), "failures": str(len(verdict.failing)), "errors": str(len(verdict.failed)),
        "time": f"{verdict.seconds:.3f}",
    }  # fmt: skip
    root = ElementTree.Element("testsuites", {"name": "dressform", **totals})
    suite = ElementTree.SubElement(root, "testsuite", {"name": _clean(verdict.body), **totals, "skipped": "0"})
    for one in verdict.garments:
        _case(suite, one, verdict.body)
    for failed in verdict.failed:
        name = f"{failed.name} ({failed.method})" if failed.method else failed.name
        case = _named(suite, verdict.body, name, failed.file)
        error = ElementTree.SubElement(case, "error", {"type": f"not {failed.stage}", "message": _clean(failed.reason)})
        error.text = _clean(failed.sentence)
    ElementTree.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ElementTree.tostring(root, encoding="unicode")}\n'


def _case(suite: ElementTree.Element, one: JudgedGarment, body: str) -> None:
    case = _named(suite, body, f"{one.line.name} ({one.line.method})", one.file)
    if one.fails:
        kind = one.counted[0].fault.severity if one.counted else "tucks"
        failure = ElementTree.SubElement(case, "failure", {"type": kind, "message": _clean(one.reasons[0])})
        failure.text = _clean("\n".join((*one.reasons, *(f"do: {words}" for words in one.line.actions))))
    if one.excused:
        said = [f"excused: {found.fault.words}; {found.excuse.words}" for found in one.excused if found.excuse]
        ElementTree.SubElement(case, "system-out").text = _clean("\n".join(said))


def _named(suite: ElementTree.Element, body: str, name: str, file: str) -> ElementTree.Element:
    known = {"classname": _clean(body), "name": _clean(name), "file": _clean(file), "time": "0"}
    return ElementTree.SubElement(suite, "testcase", known)


def _clean(text: str) -> str:
    """The text without what XML cannot hold [XML2008]."""
    return _UNWRITABLE.sub("\ufffd", text)
