"""Rules of the house that no linter knows: one word has one meaning, and what a docstring names is there."""

import ast
import re
from collections import defaultdict
from pathlib import Path

import dressform

PACKAGE = Path(dressform.__file__).parent
TESTS = Path(__file__).parent


def test_no_two_classes_share_a_name() -> None:
    places = defaultdict(list)
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                places[node.name].append(f"{path.relative_to(PACKAGE)}:{node.lineno}")
    assert {name: found for name, found in places.items() if len(found) > 1} == {}


def test_every_test_file_that_a_docstring_names_is_there() -> None:
    named = {
        (path.name, test)
        for path in sorted(PACKAGE.rglob("*.py"))
        for test in re.findall(r"Proof: tests/(\S+\.py)", path.read_text(encoding="utf-8"))
    }
    assert len(named) > 20
    assert [one for one in sorted(named) if not (TESTS / one[1]).is_file()] == []
