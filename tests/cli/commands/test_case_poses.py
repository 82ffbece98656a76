"""A case is kept and seen in the pose that its wearer had."""

import contextlib
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cases import pixels, replaced
from dressform.body.skeleton import Skeleton, Skin
from dressform.cli.app import run
from dressform.formats.case_file import CasePose, read_case, write_case
from dressform.formats.gltf.save import save_body
from phantoms import phantom_body, phantom_files
from skinned_files import moving_file

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def jointed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A case about a body with joints, one of which nods, and its picture without a pose."""
    folder = tmp_path_factory.mktemp("jointed")
    phantom_files(folder)
    body = phantom_body()
    rest, world = np.tile(np.eye(4), (2, 1, 1)), np.tile(np.eye(4), (2, 1, 1))
    rest[1, 1, 3] = world[1, 1, 3] = 1.0
    upper = np.clip((body.vertices[:, 1] - 0.9) / 0.2, 0.0, 1.0)
    skin = Skin(np.tile([0, 1], (len(upper), 1)), np.stack([1.0 - upper, upper], axis=1))
    skeleton = Skeleton(("hip", "chest"), np.array([-1, 0]), rest, np.linalg.inv(world))
    save_body(replace(body, skeleton=skeleton, skin=skin), folder / "jointed.glb")
    moving_file(folder / "jointed.glb")
    with contextlib.chdir(folder):
        words = ["case", "save", "tube.obj", "--body", "jointed.glb", "-o", "posed.case.json", "--weights", "belly=1"]
        assert run([*words, "--strength", "0"]) == 0
        assert run(["case", "replay", "posed.case.json", "--picture", "still.png"]) == 1
    return folder


@pytest.fixture
def posed(jointed: Path, tmp_path: Path) -> Path:
    return shutil.copytree(jointed, tmp_path / "posed") / "posed.case.json"


@pytest.mark.parametrize("pose", [CasePose("nod", 1.0), CasePose(turns={"chest": (0.0, 0.0, 0.25, 0.97)})])
def test_the_picture_is_posed_as_the_case_was(posed: Path, pose: CasePose, dressform: Run) -> None:
    still, turned = posed.with_name("still.png"), posed.with_name("turned.png")
    write_case(posed, replaced(read_case(posed), pose=pose))
    ended = dressform("case", "replay", posed, "--picture", turned)
    assert ended.code == 1, ended.err
    assert "measured in the pose of the case" in " ".join(ended.out.split())
    before, after = (pixels(path)[60:, -560:] for path in (still, turned))
    assert (np.abs(before - after).max(axis=2) > 40).mean() > 0.05


def test_an_animation_that_the_body_lost_is_bad_input(posed: Path, dressform: Run) -> None:
    write_case(posed, replaced(read_case(posed), pose=CasePose("jump", 1.0)))
    ended = dressform("case", "replay", posed, "--picture", posed.with_name("view.png"))
    assert ended.code == 2
    assert "an animation of the body: nod, got 'jump'" in ended.line
