"""The stances TOML: every key read, every mistake named with its place."""

from pathlib import Path

import pytest

from dressform.body.stances.stated import StatedStance, StatedTurn
from dressform.errors import FileError
from dressform.formats.moving.stances_file import read_stances, stances_beside

HEAD = 'format = "dressform-stances/1"\n'
WHOLE = (
    HEAD
    + """
use = ["everyday", "animations", "everyday"]

[joints]
left_elbow = "forearm_l"

[stances.haul]
motions = { shoulder = { flexion = 70 }, trunk = { flexion = 20, rotation = -10 } }
sliders = { arm_length = 0.5 }

[stances.shrug]
turns = [{ joint = "clavicle_l", axis = "z", degrees = 15, mirror = true }]

[[stances.nod.turns]]
joint = "head"
axis = [1, 0, 0.5]
degrees = -20
axes = "joint"
"""
)


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "keeper.stances.toml"
    path.write_text(text)
    return path


def test_every_key_is_read(tmp_path: Path) -> None:
    found = read_stances(written(tmp_path, WHOLE))
    assert found.use == ("everyday", "animations")
    assert found.joints == {"left_elbow": "forearm_l"}
    assert found.stances == {
        "haul": StatedStance(
            {"shoulder": {"flexion": 70.0}, "trunk": {"flexion": 20.0, "rotation": -10.0}}, (), {"arm_length": 0.5}
        ),
        "shrug": StatedStance({}, (StatedTurn("clavicle_l", "z", 15.0, mirror=True),)),
        "nod": StatedStance({}, (StatedTurn("head", (1.0, 0.0, 0.5), -20.0, axes="joint"),)),
    }
    assert list(found.stances["haul"].motions["trunk"]) == ["flexion", "rotation"]


def test_stances_are_looked_for_beside_the_body() -> None:
    assert stances_beside(Path("people/keeper.glb")) == Path("people/keeper.stances.toml")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("use = ['motion']\n", r"keeper\.stances\.toml: format: is missing\. Write format = "),
        ('format = "dressform-stances/2"\n', "format: is 'dressform-stances/2'"),
        (HEAD, "stances: are none"),
        (HEAD + "use = ['yoga']\n", "use: names 'yoga'. Use some of animations, sliders, motion, everyday, strong"),
        (HEAD + "stance = 1\n", "stance: is no key here. Use format, use, joints, stances"),
        (HEAD + "[joints]\nhead = 1\n", r"joints: Expected str, got int"),
        (HEAD + "[stances.a]\nmotion = {}\n", r"stances\.a\.motion: is no key here\. Use motions, turns, sliders"),
        (HEAD + "[stances.a]\n", r"stances\.a: moves nothing"),
        (HEAD + "[stances.a.motions]\nknee = 5\n", r"stances\.a\.motions: Expected object, got int"),
        (
            HEAD + "[stances.a.motions.knee]\nflexion = inf\n",
            r"stances\.a\.motions\.knee\.flexion: is inf\. Give degrees",
        ),
        (HEAD + "[stances.a.motions.knee]\nflexion = nan\n", r"stances\.a\.motions\.knee\.flexion: is nan"),
        (HEAD + "[[stances.a.turns]]\njoint = 'head'\n", r"stances\.a\.turns\[0\]: lacks the key axis"),
        (
            HEAD + "[[stances.a.turns]]\njoint = 'head'\naxis = 'up'\ndegrees = 3\n",
            r"stances\.a\.turns\[0\]\.axis: is 'up'\. Use one of x, y, z, -x, -y, -z, or \[x, y, z\]",
        ),
        (
            HEAD + "[[stances.a.turns]]\njoint = 'head'\naxis = [0, 0, 0]\ndegrees = 3\n",
            r"turns\[0\]\.axis: is \[0\.0, 0\.0, 0\.0\]\. Give three finite numbers",
        ),
        (
            HEAD + "[[stances.a.turns]]\njoint = 'head'\naxis = 'x'\ndegrees = 361\n",
            r"turns\[0\]\.degrees: is 361\. Give degrees within ±360",
        ),
        (
            HEAD + "[[stances.a.turns]]\njoint = 'head'\naxis = 'x'\ndegrees = 3\naxes = 'world'\n",
            r"turns\[0\]\.axes: is 'world'\. Use one of body, joint",
        ),
        (HEAD + "[stances]\n" + "".join(f"a{n} = {{}}\n" for n in range(501)), "stances: are 501. Keep 500 at most"),
    ],
)
def test_mistakes_are_named(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(FileError, match=message):
        read_stances(written(tmp_path, text))
