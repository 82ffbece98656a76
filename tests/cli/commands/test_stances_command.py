"""`dressform stances` lists stances and joints, and draws them; `--stances` takes a file or the words it names."""

import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from dressform.cli.app import run
from dressform.formats.gltf.save import save_body
from dressform.jobs.stances import WORDS
from phantoms import phantom_body
from skeletons import jointed_body

AXES = ["--units", "m", "--up", "y", "--front", "z"]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("stances")
    save_body(jointed_body(), path / "keeper.glb")
    save_body(phantom_body(), path / "capsule.glb")
    return path


def test_stances_and_recognised_joints_are_listed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["stances", str(folder / "keeper.glb"), *AXES, "--stances", "strong"]) == 0
    said = re.sub(" +", " ", capsys.readouterr().out)
    assert said.startswith("keeper: 4 stances beside the modelled pose from strong\n")
    assert "\nelbows 140 the built-in set strong; common practice, no source\n" in said
    assert "\nelbow forearm_l forearm_r\n" in said
    assert "\ntrunk 1 spine_1\n" in said


def test_limits_are_listed_with_their_sources_by_default(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["stances", str(folder / "keeper.glb"), *AXES]) == 0
    said = capsys.readouterr().out
    assert "limit of joint motion: Norkin and White, appendix A.1, column AAOS\n" in said
    assert "limit of joint motion: American Academy of Orthopaedic Surgeons 1965, from memory\n" in said
    assert "note: 42 stances are looked at beside the modelled pose" in said


def test_joints_that_were_told_are_marked(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "own.stances.toml"
    path.write_text('format = "dressform-stances/1"\nuse = ["strong"]\n[joints]\nleft_toes = "foot_l"\n')
    assert run(["stances", str(folder / "keeper.glb"), *AXES, "--stances", str(path)]) == 0
    said = capsys.readouterr().out
    assert f"from {path}" in said.replace("\n", "")
    assert "foot_l (as told)" in said


def test_body_is_drawn_in_every_stance(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "sheet.png"
    assert run(["stances", str(folder / "keeper.glb"), *AXES, "--stances", "strong", "--picture", str(path)]) == 0
    drawn = np.asarray(Image.open(path)).astype(int)
    first, second = drawn[60:, :260], drawn[60:, 264:524]
    assert np.abs(first - second).max() > 100
    assert f"wrote {path}" in capsys.readouterr().out.replace("\n", "")


def test_body_without_joints_stands_as_modelled(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["stances", str(folder / "capsule.glb"), *AXES]) == 0
    assert capsys.readouterr().out == "phantom: 0 stances beside the modelled pose\n"
    assert run(["stances", str(folder / "capsule.glb"), *AXES, "--stances", "motion"]) == 2
    assert "must be of joints and joint weights" in capsys.readouterr().err


def test_option_names_what_it_takes_and_errors_name_the_option(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["stances", "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert all(word in said for word in WORDS)
    assert run(["stances", str(folder / "keeper.glb"), *AXES, "--stances", "yoga"]) == 2
    assert "stances: `--stances` must be a stances TOML, or of motion," in capsys.readouterr().err
