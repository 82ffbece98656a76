"""Node and its packages: found, or the test that needs them is skipped with the way to install them."""

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).resolve().parent / "node"
INSTALL = "npm ci --prefix tests/node"
TIMEOUT_SECONDS = 120


def node(*arguments: str | Path) -> str:
    """Run Node in `tests/node`; what it printed."""
    program = shutil.which("node")
    if program is None:
        pytest.skip("Node is not installed: the checks by Node packages were not run")
    if not (FOLDER / "node_modules").is_dir():
        pytest.skip(f"the Node packages are not installed: run {INSTALL}")
    finished = subprocess.run(
        [program, *map(str, arguments)], cwd=FOLDER, capture_output=True, text=True, timeout=TIMEOUT_SECONDS
    )
    assert finished.returncode == 0, finished.stderr
    return finished.stdout


def validate(*paths: Path) -> list[dict[str, Any]]:
    """Errors and warnings that the official glTF validator finds, each with the file it is in."""
    found: list[dict[str, Any]] = []
    for line in node("validate.mjs", *paths).splitlines():
        report = json.loads(line)
        grave = [message for message in report["issues"]["messages"] if message["severity"] <= 1]
        found.extend({"path": report["path"], **message} for message in grave)
    return found


def bundle(module: str) -> str:
    """One script of a module in `tests/node` and all that it imports."""
    return node("bundle.mjs", module)
