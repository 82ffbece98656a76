"""`dressform fit --levels`, as a person types it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.formats.gltf.save import save_body, save_garment
from phantoms import phantom_body, phantom_tube

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("levels")
    save_body([phantom_body(rings=24, sides=24)], path / "b0.glb")
    save_body([phantom_body(rings=16, sides=16)], path / "b1.glb")
    for number, (rings, sides) in enumerate(((14, 24), (10, 16))):
        save_garment(phantom_tube(clearance=0.03, rings=rings, sides=sides), path / f"coat{number}.glb")
    return path


def test_levels_are_fitted_into_a_folder_and_what_pops_ends_with_1(
    folder: Path, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    out = tmp_path / "out"
    words = ("fit", "--levels", "coat0.glb", "coat1.glb", "--body-levels", "b0.glb", "b1.glb", "-o", out)
    ended = dressform(*words, "--optimize", "--pop", "0", "--repairs", "clearance")
    assert ended.code == 1, ended.out + ended.err
    assert ended.out.startswith("2 levels; more than 0 mm of pop: coat1.")
    assert "coat1 beside coat0: outlines" in ended.out
    assert "note: coat1: Made small:" in ended.out
    kinds = ("coat0.glb", "coat0.receipt.json", "coat1.glb", "coat1.receipt.json", "levels.html", "levels.json")
    assert tuple(sorted(path.name for path in out.iterdir())) == kinds
    assert dressform("prove", out / "coat1.glb", "--body", "b1.glb").code == 0


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--levels",), "fit: `--body` must be given, got nothing"),
        (("--body-levels", "b0.glb"), "fit: `--body-levels` must be left out without --levels"),
        (("--pop", "3", "--body", "b0.glb"), "fit: `--pop` must be left out without --levels, got --pop 3"),
        (("--levels", "--body", "b0.glb", "--body-levels", "b0.glb"), "fit: `--body` must be left out beside"),
        (("--levels", "--body", "b0.glb", "--no-repair"), "fit: `--repair` must be left out of levels"),
        (("--levels", "--body-levels", "b0.glb", "b1.glb", "b1.glb"), "fit: `--body-levels` must be at most one"),
    ],
)
def test_what_levels_cannot_have_is_refused(
    folder: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch, more: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(folder)
    ended = dressform("fit", "coat0.glb", "coat1.glb", "-o", "out", *more)
    assert ended.code == 2
    assert said in ended.line
    assert not (folder / "out").exists()
