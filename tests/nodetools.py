"""Node and its packages: found, or the test that needs them is skipped with the way to install them."""

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).resolve().parent / "node"
WEB = FOLDER.parent.parent / "web"
TIMEOUT_SECONDS = 120


def node(*arguments: str | Path, folder: Path = FOLDER) -> str:
    """Run Node in `tests/node` or another folder with packages; what it printed."""
    program = shutil.which("node")
    if program is None:
        pytest.skip("Node is not installed: the checks by Node packages were not run")
    if not (folder / "node_modules").is_dir():
        place = folder.relative_to(FOLDER.parent.parent)
        pytest.skip(f"the Node packages are not installed: run npm ci --prefix {place}")
    finished = subprocess.run(
        [program, *map(str, arguments)], cwd=folder, capture_output=True, text=True, timeout=TIMEOUT_SECONDS
    )
    assert finished.returncode == 0, finished.stdout + finished.stderr
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
