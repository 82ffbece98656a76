"""Files whose names are no UTF-8: the whole job works, and what it wrote is found again."""

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.formats.guards.file_names import path_of

Run = Callable[..., Any]
ODD = os.fsdecode(b"caf\xe9")


@pytest.fixture
def odd(phantom: Path, tmp_path: Path) -> Path:
    """A folder with an odd name that holds a body and a garment with odd names."""
    folder = tmp_path / f"{ODD}s"
    folder.mkdir()
    shutil.copy(phantom / "phantom.obj", folder / f"{ODD}-body.obj")
    shutil.copytree(phantom / "morphs", folder / "morphs")
    shutil.copy(phantom / "tube.obj", folder / f"{ODD}.obj")
    return folder


def test_fit_writes_the_garment_and_its_receipt(odd: Path, dressform: Run) -> None:
    out = odd / f"{ODD}.glb"
    ended = dressform("fit", "--body", odd / f"{ODD}-body.obj", odd / f"{ODD}.obj", "-o", out)
    assert ended.code == 0, ended.err
    receipt = json.loads(next(odd.glob("*.json")).read_text(encoding="utf-8"))
    assert path_of(receipt["files"]["fitted"]["file"]) == out
    assert "caf%E9 on caf%E9-body" in ended.out


def test_check_keeps_its_results(odd: Path, dressform: Run) -> None:
    results = odd / f"{ODD}.json"
    words = ("--shapes", 0, "--no-causes", "--json", results)
    ended = dressform("check", "--body", odd / f"{ODD}-body.obj", odd / f"{ODD}.obj", *words)
    assert ended.code in (0, 1), ended.err
    told = json.loads(results.read_text(encoding="utf-8"))
    assert told["garments"][0]["name"] == "caf%E9"
    assert path_of(told["body"]["source"]["file"]) == odd / f"{ODD}-body.obj"


def test_case_finds_its_files_again(odd: Path, dressform: Run) -> None:
    case = odd / f"{ODD}.case.json"
    files = ("--body", odd / f"{ODD}-body.obj", "-o", case)
    ended = dressform("case", "save", odd / f"{ODD}.obj", *files, "--weights", "belly=1")
    assert ended.code == 0, ended.err
    assert dressform("case", "replay", case).code in (0, 1)
