"""`find_stances`: what is asked for, what the body's files bring, and what is built in."""

from pathlib import Path

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.stance import Stance, carry
from dressform.body.stances.motion_table import joint_motions
from dressform.errors import ArgumentError, FileError
from dressform.formats.gltf.save import save_body
from dressform.formats.load import load_body
from dressform.formats.moving.stances_file import stances_beside
from dressform.formats.range_file import range_beside
from dressform.jobs.stances import find_stances
from phantoms import phantom_body
from skeletons import jointed_body
from skinned_files import animate, standing

HEAD = 'format = "dressform-stances/1"\n'
EVERYDAY = ["arms down", "T", "arms forward", "elbows 90", "sit", "lunge", "bow", "twist", "head turn", "walk"]


@pytest.fixture
def keeper(tmp_path: Path) -> Body:
    return read(tmp_path)


def read(folder: Path) -> Body:
    path = folder / "keeper.glb"
    if not path.exists():
        save_body(jointed_body(), path)
    return load_body(path, units="m", up="y", front="z").body


def names(stances: tuple[Stance, ...]) -> list[str]:
    return [stance.name for stance in stances]


def test_a_human_skeleton_moves_to_its_limits_by_default_and_the_cost_is_said(keeper: Body) -> None:
    found = find_stances(keeper)
    assert len(found.stances) > len(joint_motions())
    assert found.source == "the range of motion of a recognised human skeleton"
    assert found.joints is not None
    assert found.joints.is_human
    assert (
        f"{len(found.stances)} stances are looked at beside the modelled pose, a shape at one at about the cost"
        in found.notes[-1]
    )
    assert names(find_stances(keeper, "motion").stances) == names(found.stances)


def test_built_in_sets_are_asked_for_by_name_and_none_by_none(keeper: Body) -> None:
    assert names(find_stances(keeper, "everyday").stances) == EVERYDAY
    both = find_stances(keeper, "strong, everyday")
    assert names(both.stances) == ["arms up 150", "elbows 140", "knees 120", "fists", *EVERYDAY]
    assert find_stances(keeper, "none").stances == ()


def test_stances_carry_the_skin_with_its_joints(keeper: Body) -> None:
    assert keeper.skeleton is not None
    assert keeper.skin is not None
    (twist,) = [one for one in find_stances(keeper, "everyday").stances if one.name == "twist"]
    posed = carry(twist.maps(keeper.skin, keeper.skeleton), keeper.vertices)
    solids = [posed[keeper.skin.joints[:, 0] == joint].mean(axis=0) for joint in range(len(keeper.skeleton.names))]
    assert np.allclose(solids, twist.worlds[:, :3, 3], atol=1e-6)


def test_file_beside_the_body_is_what_is_looked_at_by_default(tmp_path: Path, keeper: Body) -> None:
    stances_beside(tmp_path / "keeper.glb").write_text(
        HEAD + "use = ['strong']\n[stances.nod.motions.neck]\nflexion = 20\n"
    )
    found = find_stances(keeper)
    assert names(found.stances) == ["nod", "arms up 150", "elbows 140", "knees 120", "fists"]
    assert found.source.endswith("keeper.stances.toml")
    assert found.stances[0].origin == "keeper.stances.toml"
    assert names(find_stances(keeper, tmp_path / "keeper.stances.toml").stances) == names(found.stances)
    assert names(find_stances(keeper, "everyday").stances) == EVERYDAY


def test_joints_named_in_the_file_are_moved_instead_of_recognised_ones(tmp_path: Path, keeper: Body) -> None:
    assert keeper.skeleton is not None
    path = tmp_path / "swapped.toml"
    path.write_text(HEAD + "[joints]\nleft_elbow = 'clavicle_l'\n[stances.a.motions.left_elbow]\nflexion = 90\n")
    found = find_stances(keeper, str(path))
    turned = np.abs(found.stances[0].worlds @ keeper.skeleton.inverse_bind - np.eye(4)).max(axis=(1, 2)) > 1e-6
    assert keeper.skeleton.names[int(np.flatnonzero(turned)[0])] == "clavicle_l"
    assert found.joints is not None
    assert found.joints.how["left_elbow"] == "as told"


def test_animations_of_the_body_file_come_before_the_range_of_motion(tmp_path: Path) -> None:
    made, half = standing(), np.sin(np.pi / 4)
    animate(made, 0, "rotation", [0.0, 1.0], [[0, 0, 0, 1], [half, 0, 0, half]])
    made.tree["animations"][0]["name"] = "kneel"
    body = load_body(made.save(tmp_path / "body.glb"), units="m").body
    found = find_stances(body)
    assert found.source == "the body's file"
    assert all(name.startswith("kneel ") for name in names(found.stances))
    assert "moments of the animation 'kneel' were chosen" in found.notes[0]
    assert names(find_stances(body, "animations").stances) == names(found.stances)
    with pytest.raises(ArgumentError, match="`asked` must be for a human skeleton: no arms and legs were recognised"):
        find_stances(body, "motion")


def test_skeleton_that_is_not_human_and_brings_nothing_stays_as_modelled(tmp_path: Path) -> None:
    found = find_stances(load_body(standing().save(tmp_path / "body.glb"), units="m").body)
    assert found.stances == ()
    assert found.notes == ("No human skeleton was recognised: garments are looked at in the modelled pose alone.",)


def test_sliders_that_move_joints_are_looked_at_at_their_ends_and_in_stances(tmp_path: Path, keeper: Body) -> None:
    range_beside(tmp_path / "keeper.glb").write_text("[joint_sliders.arms]\nforearm_l.scale = [0.9, 1.2]\n")
    body = read(tmp_path)
    assert names(find_stances(body).stances) == ["arms low", "arms high"]
    assert names(find_stances(body, "everyday").stances)[-2:] == ["arms low", "arms high"]
    assert find_stances(body, "none").stances == ()
    path = tmp_path / "reach.toml"
    path.write_text(HEAD + "[stances.reach]\nmotions.elbow.flexion = 90\nsliders.arms = 1\n")
    reach, *ends = find_stances(body, path).stances
    assert names(ends) == ["arms low", "arms high"]
    path.write_text(HEAD + "[stances.reach]\nmotions.elbow.flexion = 90\n")
    plain = find_stances(body, path).stances[0]
    assert body.skeleton is not None
    elbow, hand = (body.skeleton.names.index(name) for name in ("forearm_l", "hand_l"))
    arms = [one.worlds[hand, :3, 3] - one.worlds[elbow, :3, 3] for one in (plain, reach)]
    assert np.allclose(arms[1], 1.2 * arms[0], atol=1e-9)


def test_joints_that_follow_morphs_are_left_out_of_nothing(tmp_path: Path, keeper: Body) -> None:
    range_beside(tmp_path / "keeper.glb").write_text("[joint_moves.tall]\nhead = [0, 0.1, 0]\n")
    body = read(tmp_path)
    assert body.joint_moves is not None
    assert find_stances(body, "strong").notes == find_stances(keeper, "strong").notes == ()


def test_stances_of_one_name_are_numbered(tmp_path: Path, keeper: Body) -> None:
    path = tmp_path / "own.toml"
    path.write_text(HEAD + "use = ['everyday']\n[stances.sit.motions.hip]\nflexion = 80\n")
    assert names(find_stances(keeper, path).stances)[:1] == ["sit"]
    assert "sit (2)" in names(find_stances(keeper, path).stances)


def test_body_without_joints_has_no_stances() -> None:
    assert find_stances(phantom_body()).stances == ()
    assert find_stances(phantom_body(), "none").stances == ()
    with pytest.raises(
        ArgumentError, match="`body` must be of joints and joint weights, to stand otherwise, got 'phantom'"
    ):
        find_stances(phantom_body(), "motion")


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (
            "yoga",
            "`asked` must be a stances TOML, or of motion, everyday, strong, animations, sliders, none, got 'yoga'",
        ),
        ("none,motion", "`asked` must be none alone, or other stances, got 'none,motion'"),
    ],
)
def test_what_is_neither_file_nor_word_is_refused(keeper: Body, asked: str, message: str) -> None:
    with pytest.raises(ArgumentError, match=message):
        find_stances(keeper, asked)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[joints]\nhead = 'skull'\n[stances.a.motions.neck]\nflexion = 1\n",
            "joints: recognise: `joints` must be named",
        ),
        ("[stances.a.motions.tail]\nflexion = 1\n", r"stances\.a: find_stances: `motions` must be of one of shoulder"),
        (
            "[stances.a]\nsliders.arms = 1\n",
            r"stances\.a: slid_locals: `sliders` must be named as the sliders that move",
        ),
    ],
)
def test_what_a_file_says_of_joints_that_are_not_there_is_refused(
    tmp_path: Path, keeper: Body, text: str, message: str
) -> None:
    path = tmp_path / "wrong.toml"
    path.write_text(HEAD + text)
    with pytest.raises(FileError, match=rf"wrong\.toml: {message}"):
        find_stances(keeper, path)
    with pytest.raises(FileError, match="there is no such file"):
        find_stances(keeper, tmp_path / "absent.toml")
