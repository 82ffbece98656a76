"""The range TOML declares sliders that move joints, and joints that follow morphs."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dressform.body.pose import SCALE, TRANSLATION
from dressform.body.stances.sliders import JointEffect, slid_worlds
from dressform.errors import FileError
from dressform.formats.gltf.save import save_body
from dressform.formats.load import BodyFile, load_body
from dressform.formats.range_file import range_beside
from skeletons import jointed_body
from skinned_files import animate, standing
from solids import capped_body

SLIDERS = """
[range]
tall = [-1, 1]

[joint_sliders.arm_length]
forearm_l = { scale = [0.9, [1, 1.15, 1]], mirror = true }
hand_l.translation = [[0, -0.01, 0], [0, 0.02, 0]]

[joint_sliders.stoop]
spine_2 = { rotation = [0, 20], axis = "x" }

[joint_moves.tall]
head = [0, 0.05, 0]
"""


@pytest.fixture(scope="module")
def body_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sliders") / "keeper.glb"
    save_body(jointed_body(), path)
    return path


def read(body_path: Path, text: str) -> BodyFile:
    range_beside(body_path).write_text(text)
    return load_body(body_path, units="m", up="y", front="z")


def test_sliders_and_moves_are_read_beside_the_range(body_path: Path) -> None:
    body = read(body_path, SLIDERS).body
    assert body.range.low.tolist() == [-1, 0]
    arm, stoop = body.joint_sliders
    assert body.skeleton is not None
    left, right, hand = (body.skeleton.names.index(name) for name in ("forearm_l", "forearm_r", "hand_l"))
    low, high = (0.9, 0.9, 0.9), (1.0, 1.15, 1.0)
    assert arm.effects == (
        JointEffect(left, SCALE, low, high),
        JointEffect(right, SCALE, low, high),
        JointEffect(hand, TRANSLATION, (0.0, -0.01, 0.0), (0.0, 0.02, 0.0)),
    )
    assert (arm.low, arm.high, stoop.low, stoop.high) == (-1, 1, 0, 1)
    assert body.joint_moves is not None
    assert body.joint_moves[0, body.skeleton.names.index("head")].tolist() == [0, 0.05, 0]
    assert np.count_nonzero(body.joint_moves) == 1


def test_body_without_such_keys_has_no_sliders_of_joints(body_path: Path) -> None:
    body = read(body_path, "[range]\ntall = [0, 2]\n").body
    assert (body.joint_sliders, body.joint_moves) == ((), None)


def test_sliders_alone_leave_the_range_as_it_is(body_path: Path) -> None:
    body = read(body_path, "[joint_sliders.a]\nhead.scale = [0.9, 1.1]\n").body
    assert body.range.widths.tolist() == [1, 1]
    assert [slider.name for slider in body.joint_sliders] == ["a"]


def test_animation_of_the_file_serves_as_a_slider(tmp_path: Path) -> None:
    made = standing()
    animate(made, 0, "translation", [0.0, 2.0], [[0, 0.25, 0.1], [0, 0.5, 0.1]])
    made.tree["animations"][0]["name"] = "grow"
    path = made.save(tmp_path / "body.glb")
    (tmp_path / "body.range.toml").write_text("[joint_sliders.growth]\nanimation = 'grow'\n")
    body = load_body(path, units="m").body
    assert body.skeleton is not None
    knee = body.skeleton.names.index("knee")
    places = [slid_worlds(body.skeleton, body.joint_sliders, {"growth": v})[knee, :3, 3] for v in (0, 0.5, 1)]
    assert np.allclose(np.diff(places, axis=0), [[0, 0.125, 0]] * 2, atol=1e-6)


def test_body_without_joints_has_nothing_to_move(tmp_path: Path) -> None:
    (tmp_path / "body.range.toml").write_text("[joint_moves.tall]\nhead = [0, 1, 0]\n")
    save_body(replace(capped_body("keeper"), skeleton=None, skin=None), tmp_path / "body.glb")
    with pytest.raises(FileError, match=r"body\.range\.toml: joint_moves: needs joints, which this body lacks"):
        load_body(tmp_path / "body.glb", units="m")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("# nothing\n", "lacks the key range"),
        (
            "[joint_sliders.a]\narm.scale = [1, 2]\n",
            r"joint_sliders\.a\.arm: is no joint of this body\. Its joints are",
        ),
        ("[joint_sliders.a]\nhead.size = [1, 2]\n", r"joint_sliders\.a\.head\.size: is no key here\. Use scale, tr"),
        ("[joint_sliders.a]\nhead = {}\n", r"joint_sliders\.a\.head: says nothing of the joint"),
        ("[joint_sliders.a]\n", r"joint_sliders\.a: moves no joint"),
        ("[joint_sliders.a]\nhead.scale = [1, 1]\n", r"joint_sliders\.a: leaves the body as modelled"),
        ("[joint_sliders.a]\nhead.scale = [0, 1]\n", r"joint_sliders\.a\.head\.scale: has 0, below 0\.01"),
        ("[joint_sliders.a]\nhead.scale = [1, inf]\n", r"joint_sliders\.a\.head\.scale: has \[inf, inf, inf\], beyond"),
        ("[joint_sliders.a]\nhead.rotation = [nan, 1]\n", r"joint_sliders\.a\.head\.rotation: has \[nan"),
        ("[joint_sliders.a]\nhead = { rotation = [0, 1], axis = 'up' }\n", r"a\.head\.axis: is 'up'"),
        ("[joint_sliders.a]\nhead = { scale = [1, 2], mirror = true }\n", r"of a joint with another side, got 'head'"),
        (
            "[joint_sliders.a]\nhand_l = { rotation = [0, 9], mirror = true }\n",
            r"joint_sliders\.a\.hand_l\.mirror: mirrors more than a scale",
        ),
        ("[joint_sliders.a]\nanimation = 'x'\n", r"a\.animation: is 'x'\. The animations of this body are: none"),
        ("[joint_sliders.a]\nanimation = 'x'\nhead.scale = [1, 2]\n", r"a: plays an animation and moves joints"),
        ("[joint_sliders.tall]\nhead.scale = [1, 2]\n", r"joint_sliders\.tall: is the name of a morph, too"),
        (
            "[joint_moves.belly]\nhead = [0, 1, 0]\n",
            r"joint_moves\.belly: is no morph of this body\. Its morphs are: tall",
        ),
        ("[joint_moves.tall]\narm = [0, 1, 0]\n", r"joint_moves\.tall\.arm: is no joint of this body"),
        ("[joint_moves.tall]\nhead = [0, inf, 0]\n", r"joint_moves\.tall\.head: is \[0\.0, inf, 0\.0\]"),
    ],
)
def test_mistakes_are_named(body_path: Path, text: str, message: str) -> None:
    with pytest.raises(FileError, match=message):
        read(body_path, text)
