"""One word, one meaning: no two classes of the package share a name."""

import ast
from collections import defaultdict
from pathlib import Path

import dressform

PACKAGE = Path(dressform.__file__).parent


def test_no_two_classes_share_a_name() -> None:
    places = defaultdict(list)
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                places[node.name].append(f"{path.relative_to(PACKAGE)}:{node.lineno}")
    assert {name: found for name, found in places.items() if len(found) > 1} == {}
