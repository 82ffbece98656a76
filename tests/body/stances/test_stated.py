"""Stated stances: turns about axes of the body or the joint, the other side in a mirror, sliders under them."""

import numpy as np
import pytest

from dressform.body.pose import SCALE, turned_worlds
from dressform.body.stance import Stance
from dressform.body.stances.human import recognise
from dressform.body.stances.sliders import JointEffect, JointSlider
from dressform.body.stances.stated import StatedStance, StatedTurn, other_side, stated_stance
from dressform.body.stances.turns import about, mirrored, worlds_of
from dressform.body.stances.zero import zero_pose
from dressform.errors import ArgumentError
from skeletons import keeper, with_odd_axes

NAMES = keeper().names
BIG = JointSlider("big", (JointEffect(NAMES.index("thigh_l"), SCALE, (0.9,) * 3, (1.2,) * 3),))


def made(stated: StatedStance) -> Stance:
    return stated_stance("test", "made", stated, zero_pose(recognise(keeper())), (BIG,), origin="a test")


def test_turn_about_an_axis_of_the_body_and_its_mirror_image() -> None:
    one = made(StatedStance(turns=(StatedTurn("forearm_l", (0.0, -1.0, 0.6), 90.0, mirror=True),)))
    turn = about((0, -1, 0.6), 90)
    wanted = worlds_of(keeper(), {NAMES.index("forearm_l"): turn, NAMES.index("forearm_r"): mirrored(turn)})
    assert np.array_equal(one.worlds, wanted)
    places = one.worlds[:, :3, 3]
    assert np.allclose(places[NAMES.index("hand_l")] * (-1, 1, 1), places[NAMES.index("hand_r")], atol=1e-12)


def test_parts_may_be_named_instead_of_joints() -> None:
    by_name, by_part = (made(StatedStance(turns=(StatedTurn(n, "x", 40.0),))) for n in ("shin_r", "right_knee"))
    assert np.array_equal(by_name.worlds, by_part.worlds)


def test_turn_about_a_joints_own_axis_is_the_nodes() -> None:
    odd = with_odd_axes(keeper(), seed=3)
    stated = StatedStance(turns=(StatedTurn("shin_l", "y", 50.0, axes="joint"),))
    found = stated_stance("test", "own", stated, zero_pose(recognise(odd)), (), origin="")
    half = np.deg2rad(25)
    assert (
        np.abs(
            found.worlds - turned_worlds(odd, {"shin_l": (0.0, float(np.sin(half)), 0.0, float(np.cos(half)))})
        ).max()
        < 1e-12
    )


def test_turns_of_one_joint_come_one_after_the_other() -> None:
    one = made(StatedStance(turns=(StatedTurn("head", "x", 30.0), StatedTurn("head", "y", 40.0))))
    both = about((0, 1, 0), 40) @ about((1, 0, 0), 30)
    assert np.abs(one.worlds - worlds_of(keeper(), {NAMES.index("head"): both})).max() < 1e-15


def test_motions_turns_and_sliders_make_one_stance() -> None:
    stated = StatedStance({"left_knee": {"flexion": 60}}, (StatedTurn("head", "y", 20.0),), {"big": 1})
    found = made(stated).worlds
    bones = {one: found[NAMES.index(f"{one}_l"), :3, 3] for one in ("thigh", "shin", "foot")}
    still = {one: keeper().positions[NAMES.index(f"{one}_l")] for one in bones}
    for first, second in (("thigh", "shin"), ("shin", "foot")):
        length = np.linalg.norm(bones[second] - bones[first])
        assert length == pytest.approx(1.2 * np.linalg.norm(still[second] - still[first]))
    thigh, shin = bones["shin"] - bones["thigh"], bones["foot"] - bones["shin"]
    assert thigh @ shin / np.linalg.norm(thigh) / np.linalg.norm(shin) == pytest.approx(0.5)


@pytest.mark.parametrize(("one", "other"), [("thumb_1_l", "thumb_1_r"), ("clavicle_r", "clavicle_l")])
def test_other_side_is_the_part_there(one: str, other: str) -> None:
    assert NAMES[other_side("test", recognise(keeper()), NAMES.index(one))] == other
    nameless = recognise(keeper(), told={f"{side}_collar": "" for side in ("left", "right")})
    assert NAMES[other_side("test", nameless, NAMES.index(one))] == other


@pytest.mark.parametrize(
    ("stated", "message"),
    [
        (StatedStance(turns=(StatedTurn("arm", "x", 1.0),)), "`joint` must be one of root, pelvis.*got 'arm'"),
        (StatedStance(turns=(StatedTurn("head", "up", 1.0),)), "`axis` must be one of x, y, z, -x, -y, -z, got 'up'"),
        (StatedStance(turns=(StatedTurn("head", "x", 1.0, axes="file"),)), "`axes` must be one of body, joint, got"),
        (StatedStance(turns=(StatedTurn("head", "x", 1.0, mirror=True),)), "must be of a joint with another side, got"),
        (
            StatedStance({"knee": {"flexion": 9}}, (StatedTurn("shin_l", "x", 1.0),)),
            "`turns` must be of other joints than motions move, got 'shin_l'",
        ),
        (StatedStance(sliders={"long": 1}), "`sliders` must be named as the sliders that move joints: big, got 'long'"),
    ],
)
def test_what_cannot_be_made_is_refused(stated: StatedStance, message: str) -> None:
    with pytest.raises(ArgumentError, match=message):
        made(stated)
