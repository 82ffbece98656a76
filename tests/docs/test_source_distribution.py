"""The source distribution holds everything that the repository does: tests, documents, the page's source."""

import subprocess
import tomllib
from fnmatch import fnmatch
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
ALWAYS = {"pyproject.toml", "README.md", "LICENSE", "MANIFEST.in"}
"""What setuptools takes along unasked, beside the package itself."""
LEFT_OUT = {".gitignore", ".ci/run"}
"""What serves the repository alone."""


def tracked() -> list[str]:
    """Every file of the repository."""
    if not (ROOT / ".git").exists():
        pytest.skip("no repository to compare with")
    told = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return [name for name in told.split("\0") if name and (ROOT / name).exists()]


def distributed(name: str) -> bool:
    """Whether MANIFEST.in or the package takes a file along."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = project["tool"]["setuptools"]["package-data"]["dressform"]
    if name.startswith("src/"):
        return name.endswith(".py") or any(fnmatch(Path(name).name, pattern.split("/")[-1]) for pattern in patterns)
    kept = name in ALWAYS
    for line in (ROOT / "MANIFEST.in").read_text(encoding="utf-8").splitlines():
        command, *words = line.split()
        if command == "graft":
            kept = kept or name.startswith(f"{words[0]}/")
        elif command == "prune":
            kept = kept and not name.startswith(f"{words[0]}/")
        elif command == "include":
            kept = kept or name in words
        elif command == "global-exclude":
            kept = kept and not any(fnmatch(part, word) for part in name.split("/") for word in words)
        else:
            raise AssertionError(f"this test does not know {command!r} of MANIFEST.in")
    return kept


def test_source_distribution_holds_every_file_of_the_repository() -> None:
    files = tracked()
    assert {"tests/docs/test_readme.py", "docs/reliability.md", "web/src/main.ts", "constraints/lowest.txt"} <= set(
        files
    )
    assert {name for name in files if not distributed(name)} == LEFT_OUT


def test_what_is_built_or_installed_is_left_out() -> None:
    for name in (
        "web/node_modules/three/index.js",
        "src/dressform/mesh/kernels.nbi",
        "tests/__pycache__/a.cpython-311.pyc",
    ):
        assert not distributed(name)
