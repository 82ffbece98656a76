"""A gate's verdict as SARIF 2.1.0 [SARIF2023], which code hosts show beside the files: a result for each fault.

It fits as far as a fault is a finding in a file; a place on a garment is no line of text, so it stands in the message.
An excuse is a suppression.
"""

import hashlib
import json
import os
import re
from typing import Any
from urllib.parse import quote

from dressform.faults.registry import ALL_FAULTS, FAULTS
from dressform.formats.gate.judged import GateVerdict, JudgedFault, JudgedGarment
from dressform.formats.guards.file_names import path_of
from dressform.version import __version__

SARIF_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS = {"slight": "note", "moderate": "warning", "grave": "error"}
_HALVES = re.compile("[\ud800-\udfff]")
"""Halves of characters, which no text in UTF-8 can hold."""
_NO_BYTES = re.compile("[\ud800-\udc7f\udd00-\udfff]")
"""Of these, those that stand for no byte of a file name."""
TUCKED = "tucked"
"""The rule that limits cloth which is tucked in; it is no fault."""


def sarif_json(verdict: GateVerdict) -> str:
    """The document.

    Proof: tests/report/gate/test_forms.py
    """
    results = [_result(one, found) for one in verdict.garments for found in (*one.counted, *one.excused)]
    results += [_tucked(one) for one in verdict.garments if one.tucked_over_cm2 > 0]
    notifications = [
        {"level": "error", "message": {"text": _line(one.sentence)}, "locations": [_place(one.file, one.name)]}
        for one in verdict.failed
    ]
    run = {
        "tool": {"driver": {"name": "dressform", "version": __version__, "rules": _rules()}},
        "invocations": [
            {"executionSuccessful": not verdict.failed, "toolExecutionNotifications": notifications},
        ],
        "results": results,
    }
    document = {"$schema": SARIF_SCHEMA, "version": "2.1.0", "runs": [run]}
    return _HALVES.sub("\ufffd", json.dumps(document, indent=1, ensure_ascii=False)) + "\n"


def _rules() -> list[dict[str, Any]]:
    found = [{"id": one.key, "shortDescription": {"text": one.words}, "fullDescription": {"text": one.figure}}
             for one in ALL_FAULTS]  # fmt: skip
    words = "more cloth is tucked in at its rims than the rules allow"
    return [*found, {"id": TUCKED, "shortDescription": {"text": words}, "fullDescription": {"text": words}}]


def _result(one: JudgedGarment, found: JudgedFault) -> dict[str, Any]:
    fault, line = found.fault, one.line
    do = f" Do: {line.actions[0]}." if line.actions else ""
    made: dict[str, Any] = {
        "ruleId": fault.fault,
        "ruleIndex": FAULTS.index(fault.fault),
        "level": LEVELS[fault.severity],
        "message": {"text": _line(f"{line.name} ({line.method}): {fault.words}.{do}")},
        "locations": [_place(one.file, line.name)],
        "partialFingerprints": _fingerprint(line.key, fault.fault, fault.stance),
        "properties": {
            "garment": line.name, "method": line.method, "severity": fault.severity, "value": fault.value,
            "unit": fault.unit, "shape": fault.shape, "stance": fault.stance,
        },
    }  # fmt: skip
    if found.excuse is not None:
        made["suppressions"] = [{"kind": "external", "status": "accepted", "justification": found.excuse.words}]
    return made


def _tucked(one: JudgedGarment) -> dict[str, Any]:
    return {
        "ruleId": TUCKED,
        "ruleIndex": len(FAULTS),
        "level": "warning",
        "message": {"text": _line(f"{one.line.name} ({one.line.method}): {one.reasons[-1]}.")},
        "locations": [_place(one.file, one.line.name)],
        "partialFingerprints": _fingerprint(one.line.key, TUCKED),
    }


def _place(file: str, name: str) -> dict[str, Any]:
    """Where the garment lies: a path relative to the folder of the run, or an address where it was given whole."""
    path = path_of(_NO_BYTES.sub("\ufffd", file))
    address = f"{'file://' if path.is_absolute() else ''}{quote(os.fsencode(path.as_posix()))}"
    return {
        "physicalLocation": {"artifactLocation": {"uri": address}},
        "logicalLocations": [{"name": name, "kind": "object"}],
    }


def _line(text: str) -> str:
    """The text in one line, as viewers list messages: a name may hold line breaks."""
    return " ".join(text.split())


def _fingerprint(*parts: str) -> dict[str, str]:
    """Tells the finding from others, and stays the same where it only grows."""
    return {"dressformFault/v1": hashlib.sha256("\n".join(parts).encode(errors="surrogatepass")).hexdigest()}
