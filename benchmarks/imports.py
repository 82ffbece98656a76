"""Who imports whom, read from the sources: tests near a file, and compiled code that may hold what it says."""

import ast
from functools import cache
from pathlib import Path


@cache
def imported_by(file: Path) -> frozenset[str]:
    """Files of the package that a file imports, relative to the package; names of test helpers as `name.py`."""
    found = set()
    for node in ast.walk(ast.parse(file.read_bytes())):
        if isinstance(node, ast.ImportFrom) and node.module:
            parts = node.module.split(".")
            path = "/".join(parts[1:] if parts[0] == "dressform" else parts)
            # What is taken from a package may be one of its modules.
            found |= {f"{path}.py", *(f"{path}/{name.name}.py" for name in node.names)}
    return frozenset(found)


@cache
def importers(package: Path, path: str) -> tuple[str, ...]:
    """Files of the package that import a file, or import one that does, relative to the package."""
    files = {file.relative_to(package).as_posix(): imported_by(file) for file in package.rglob("*.py")}
    found, front = set(), {path}
    while front:
        front = {name for name, used in files.items() if used & front} - found
        found |= front
    return tuple(sorted(found - {path}))


@cache
def import_distances(root: Path, path: str) -> dict[str, int]:
    """How many imports lie between a test file and a file of the package; those without a way are left out."""
    package = root / "src" / "dressform"
    tests = {file: imported_by(file) for file in (root / "tests").rglob("*.py")}
    inner = {file.relative_to(package).as_posix(): imported_by(file) for file in package.rglob("*.py")}
    distances: dict[str, int] = {}
    reached, front, step = {path}, {path}, 1
    while front:
        for file, used in tests.items():
            if used & reached:
                distances.setdefault(file.relative_to(root).as_posix(), step)
        front = {name for name, used in inner.items() if used & front} - reached
        reached |= front
        step += 1
    return distances
