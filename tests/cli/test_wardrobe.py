"""`dressform check`, `fit` and `store` of a wardrobe, as a person types them."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from wardrobes import small_wardrobe

Run = Callable[..., Any]
FEW = ("--shapes", "0", "--workers", "1", "--no-causes")


@pytest.fixture(scope="module")
def wardrobe(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_wardrobe(tmp_path_factory.mktemp("small"), count=1)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("store") / "s.db"


def test_a_folder_and_a_pattern_are_checked_and_what_is_broken_is_told_at_the_end(
    wardrobe: Path, store: Path, dressform: Run
) -> None:
    words = ("check", "--body", wardrobe.parent / "body.glb", "--store", store, *FEW)
    first = dressform(*words, wardrobe)
    assert first.code == 2, first.out + first.err
    assert first.out.startswith("1 of 2 garments fails (1 grave, 1 clean); 1 could not be checked.")
    assert "bad: not read:" in first.out.splitlines()[-1]
    again = dressform(*words, wardrobe / "t*.glb")
    assert again.code == 1
    assert "2 of them from the store" in again.out
    assert dressform(*words, wardrobe / "t0.*").code == 0


def test_the_gate_writes_its_verdict_in_three_forms_and_says_how_it_ends(
    wardrobe: Path, store: Path, tmp_path: Path, dressform: Run
) -> None:
    rules = tmp_path / "rules.toml"
    text = 'schema = "dressform-rules/1"\n[[excused]]\ngarment = "tight"\nreason = "Old stock"\nuntil = {}\n'
    forms = [tmp_path / name for name in ("v.xml", "v.sarif", "v.md")]
    words = ["check", "--body", wardrobe.parent / "body.glb", "--store", store, *FEW, wardrobe / "t*.glb"]
    told = ["--rules", rules, "--junit", forms[0], "--sarif", forms[1], "--summary", forms[2]]
    rules.write_text(text.format("2999-12-31"))
    passed = dressform(*words, *told)
    assert passed.code == 0, passed.out + passed.err
    assert "gate passed: 2 of 2 garments accepted (nothing moderate or worse), 1 of them excused." in passed.out
    rules.write_text(text.format("2020-01-31"))
    failed = dressform(*words, *told)
    assert failed.code == 1
    assert "note: an excuse has run out, and its fault counts again: tight, every fault: Old stock" in failed.out
    assert ElementTree.parse(forms[0]).getroot().get("failures") == "1"
    assert json.loads(forms[1].read_text(encoding="utf-8"))["version"] == "2.1.0"
    assert "gate failed: 1 of 2" in forms[2].read_text(encoding="utf-8")
    few = dressform("check", "--body", wardrobe.parent / "body.glb", wardrobe / "tight.glb", *FEW, "--fail-on", "grave")
    assert few.code == 1
    assert "gate failed: 0 of 1 garment accepted (nothing grave or worse)." in few.out


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--report", "r.html"), "`--report` must be left out of a wardrobe"),
        (("--fail-on", "clean"), "`--fail-on` must be one of slight, moderate, grave, got 'clean'"),
        (("--engine", "threads"), "`--engine` must be processes, dask or tcp://HOST:PORT, got 'threads'"),
        (("--no-store", "--store", "s.db"), "`--store` must be left out where none is to be used"),
        (("--rules", "none.toml"), "none.toml: there is no such file"),
    ],
)
def test_what_a_wardrobe_cannot_have_is_refused(
    wardrobe: Path, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch, more: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    ended = dressform("check", "--body", wardrobe.parent / "body.glb", wardrobe, *FEW, *more)
    assert ended.code == 2
    assert said in ended.line


def test_without_a_store_nothing_is_kept(
    wardrobe: Path, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DRESSFORM_STORE", str(tmp_path / "own.db"))
    words = ("check", "--body", wardrobe.parent / "body.glb", *FEW, wardrobe / "t0.*")
    assert dressform(*words, "--no-store").code == 0
    assert not (tmp_path / "own.db").exists()
    assert dressform(*words).code == 0
    assert "t0" not in dressform("store", "list").out
    assert "check  phantom  1" in dressform("store", "list").out
    assert dressform("store", "export", tmp_path / "s.csv").code == 0
    assert dressform("store", "prune", "--outdated").out.startswith("0 entries taken out")
    assert "`--outdated, --older-than, --body or --garment` must be given" in dressform("store", "prune").line
    assert dressform("store", "prune", "--garment", "t*").out.startswith("1 entry taken out")
    assert "nothing is kept" in dressform("store", "list").out


def test_a_folder_is_fitted_into_a_folder(wardrobe: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "fitted"
    words = ("fit", "--body", wardrobe.parent / "body.glb", wardrobe / "t0.*", "-o", out, "--store", tmp_path / "s.db")
    first = dressform(*words, "--workers", "1")
    assert first.code == 0, first.out + first.err
    assert sorted(path.name for path in out.iterdir()) == ["t0.glb", "t0.receipt.json"]
    assert "1 garment written, none of them still seen wrong." in first.out
    assert "1 of them done before" in dressform(*words, "--workers", "1").out
    small = dressform(*words, "--workers", "1", "--optimize", "--basis", "0.5")
    assert small.code == 0, small.out + small.err
    assert "done before" not in small.out
    assert re.search(r"  \d+ kB, 0\.\d{3} mm\n", small.out)
    inside = dressform("fit", "--body", wardrobe.parent / "body.glb", wardrobe, "-o", wardrobe / "out")
    assert inside.code == 2
    assert "lies in the wardrobe" in inside.line
