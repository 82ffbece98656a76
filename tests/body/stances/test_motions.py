"""Motions of joints are those of the tables: angles count from hanging limbs, whatever pose a body is modelled in."""

import numpy as np
import pytest

from dressform.body.skeleton import Skeleton
from dressform.body.stances.built_in import BUILT_IN, built_in_stances
from dressform.body.stances.human import recognise
from dressform.body.stances.motion_table import Motions, joint_motions
from dressform.body.stances.motions import turns_of
from dressform.body.stances.turns import worlds_of
from dressform.body.stances.zero import zero_pose
from dressform.errors import ArgumentError
from skeletons import arms_out, keeper, with_odd_axes

DOWN, LEFT, FRONT = np.array([0, -1.0, 0]), np.array([1.0, 0, 0]), np.array([0, 0, 1.0])
HANGING: Motions = {"shoulder": {"abduction": 0}, "elbow": {"flexion": 0}}


def moved(motions: Motions, skeleton: Skeleton | None = None) -> dict[str, np.ndarray]:
    """Unit vectors along the bones of the left side, by name of the joint at the upper end."""
    whole = keeper() if skeleton is None else skeleton
    worlds = worlds_of(whole, turns_of("test", zero_pose(recognise(whole)), motions))
    places = dict(zip(whole.names, worlds[:, :3, 3]))
    bones = {"upper_arm": "forearm", "forearm": "hand", "thigh": "shin", "shin": "foot", "foot": "toes", "neck": "head"}
    bones |= {f"{finger}_1": f"{finger}_2" for finger in ("index", "middle", "ring", "little")}
    named = {one: f"{one}_l" if f"{one}_l" in places else one for one in {*bones, *bones.values()}}
    found = {one: places[named[end]] - places[named[one]] for one, end in bones.items()}
    found["hand"] = np.mean([places[f"{finger}_1_l"] for finger in ("index", "middle", "ring", "little")], axis=0)
    found["hand"] = found["hand"] - places["hand_l"]
    found["trunk"] = places["neck"] - places["pelvis"]
    found["across the hand"] = places["index_1_l"] - places["little_1_l"]
    return {one: bone / np.linalg.norm(bone) for one, bone in found.items()}


def between(first: np.ndarray, second: np.ndarray) -> float:
    return float(np.rad2deg(np.arctan2(np.linalg.norm(np.cross(first, second)), first @ second)))


def test_arm_without_motion_hangs_straight() -> None:
    bones = moved(HANGING)
    assert between(bones["upper_arm"], DOWN) == pytest.approx(0, abs=1e-5)
    assert between(bones["forearm"], DOWN) == pytest.approx(0, abs=1e-5)


@pytest.mark.parametrize(
    ("motions", "bone", "direction"),
    [
        ({"shoulder": {"flexion": 90}}, "upper_arm", FRONT),
        ({"shoulder": {"extension": 60}}, "upper_arm", -np.sin(np.pi / 3) * FRONT + 0.5 * DOWN),
        ({"shoulder": {"abduction": 90}}, "upper_arm", LEFT),
        ({"shoulder": {"abduction": 180}}, "upper_arm", -DOWN),
        ({**HANGING, "elbow": {"flexion": 90}}, "forearm", FRONT),
        ({"shoulder": {"medial_rotation": 90}, "elbow": {"flexion": 90}}, "forearm", -LEFT),
        ({"shoulder": {"lateral_rotation": 90, "abduction": 90}, "elbow": {"flexion": 90}}, "forearm", -DOWN),
        ({**HANGING, "wrist": {"flexion": 90}}, "hand", -LEFT),
        ({**HANGING, "wrist": {"extension": 90}}, "hand", LEFT),
        ({**HANGING, "wrist": {"radial_deviation": 90}}, "hand", FRONT),
        ({"hip": {"flexion": 90}}, "thigh", FRONT),
        ({"hip": {"abduction": 90}}, "thigh", LEFT),
        ({"hip": {"flexion": 90}, "knee": {"flexion": 90}}, "shin", DOWN),
        ({"hip": {"flexion": 0}, "knee": {"flexion": 90}}, "shin", -FRONT),
        ({"hip": {"flexion": 90, "lateral_rotation": 0}, "knee": {"flexion": 0}}, "shin", FRONT),
    ],
)
def test_motion_brings_a_bone_where_the_tables_say(motions: Motions, bone: str, direction: np.ndarray) -> None:
    assert between(moved(motions)[bone], direction) == pytest.approx(0, abs=1e-5)


@pytest.mark.parametrize("degrees", [-10, 30, 90, 150])
@pytest.mark.parametrize(("joint", "first", "second"), [("elbow", "upper_arm", "forearm"), ("knee", "thigh", "shin")])
def test_flexion_is_the_angle_between_two_bones(joint: str, first: str, second: str, degrees: float) -> None:
    bones = moved({joint: {"flexion": degrees}})
    assert between(bones[first], bones[second]) == pytest.approx(abs(degrees), abs=1e-5)


@pytest.mark.parametrize(
    ("part", "motion", "bone", "up"),
    [
        ("trunk", "flexion", "trunk", FRONT),
        ("trunk", "side_bend", "trunk", LEFT),
        ("neck", "extension", "neck", -FRONT),
    ],
)
def test_bend_of_the_middle_is_shared_by_its_joints_and_goes_the_right_way(
    part: str, motion: str, bone: str, up: np.ndarray
) -> None:
    bent, straight = moved({part: {motion: 60}})[bone], moved({})[bone]
    assert 15 < between(bent, straight) < 60
    assert (bent - straight) @ up > 0.2


def test_whole_bend_of_trunk_and_neck_reaches_the_joint_at_its_end() -> None:
    zero = zero_pose(recognise(keeper()))
    worlds = worlds_of(keeper(), turns_of("test", zero, {"trunk": {"flexion": 40}, "neck": {"flexion": 25}}))
    assert between(worlds[keeper().names.index("spine_3"), :3, 2], FRONT) == pytest.approx(40, abs=1e-9)
    assert between(worlds[keeper().names.index("head"), :3, 2], FRONT) == pytest.approx(65, abs=1e-9)


def test_palms_face_the_thighs_at_zero_and_pronation_turns_them() -> None:
    still: Motions = {**HANGING, "wrist": {"flexion": 0}}
    assert moved(still)["across the hand"] @ FRONT > 0.9
    turned = moved({**HANGING, "forearm": {"pronation": 80}})["across the hand"]
    flat = turned * (1, 0, 1)
    assert between(flat, FRONT) == pytest.approx(80, abs=1e-5)
    assert turned @ LEFT < 0


def test_fingers_flex_from_straight_towards_the_palm() -> None:
    still, palm = {**HANGING, "wrist": {"flexion": 0}}, -LEFT
    for finger in ("index", "middle", "ring", "little"):
        straight = moved({**still, "finger_1": {"flexion": 0}})[f"{finger}_1"]
        bent = moved({**still, "finger_1": {"flexion": 90}})[f"{finger}_1"]
        assert straight @ DOWN > 0.9, finger
        assert bent @ palm > 0.9, finger


@pytest.mark.parametrize("skeleton", [arms_out(45), arms_out(-25), with_odd_axes(keeper(), seed=5)], ids="ABC")
def test_stance_does_not_depend_on_the_pose_and_axes_of_the_model(skeleton: Skeleton) -> None:
    whole: Motions = {
        "shoulder": {"medial_rotation": 20, "abduction": 70}, "elbow": {"flexion": 80},
        "forearm": {"supination": 30}, "wrist": {"extension": 20}, "finger_1": {"flexion": 30},
        "hip": {"flexion": 40}, "knee": {"flexion": 50},
    }  # fmt: skip
    wanted, found = moved(whole), moved(whole, skeleton)
    assert max(between(wanted[bone], found[bone]) for bone in wanted) < 1e-5


def test_collar_bone_takes_a_third_of_what_a_raised_arm_exceeds_30_degrees() -> None:
    zero = zero_pose(recognise(keeper()))
    for raised, lift in ((20, 0), (90, 20), (150, 40), (180, 40)):
        turns = turns_of("test", zero, {"left_shoulder": {"abduction": raised}})
        collar = turns.get(keeper().names.index("clavicle_l"), np.eye(3))
        assert between(collar @ LEFT, LEFT) == pytest.approx(lift, abs=1e-9)


@pytest.mark.parametrize("name", BUILT_IN)
def test_built_in_stances_that_move_both_sides_alike_are_symmetric(name: str) -> None:
    flip = np.array([-1.0, 1.0, 1.0])
    names = keeper().names
    other = [
        names.index(f"{n[:-1]}{'r' if n.endswith('l') else 'l'}") if n[-2:] in ("_l", "_r") else names.index(n)
        for n in names
    ]
    stances, notes = built_in_stances(zero_pose(recognise(keeper())), name)
    lone = {"walk", "lunge", "twist", "head turn"}
    for stance in stances:
        places = stance.worlds[:, :3, 3]
        one_sided = stance.name in lone or stance.name.startswith(("left", "right"))
        assert (np.abs(places[other] * flip - places).max() < 1e-9) != one_sided, stance.name
    assert len({stance.name for stance in stances}) == len(stances)
    assert notes == (() if name != "motion" else notes)


def test_range_of_motion_reaches_every_limit_of_the_table_and_names_its_source() -> None:
    stances, _ = built_in_stances(zero_pose(recognise(keeper())), "motion")
    for (joint, motion), row in joint_motions().items():
        words = f"{joint} {motion} {row.degrees:g}".replace("_", " ")
        made = [stance for stance in stances if stance.name.endswith(words)]
        # The keeper's fingers have two joints.
        assert len(made) == (0 if joint == "finger_3" else 2 if row.is_apart else 1), words
        assert all(row.source in stance.origin and ("memory" in stance.origin) != row.is_read for stance in made)


@pytest.mark.parametrize(
    ("motions", "message"),
    [
        ({"arm": {"flexion": 1}}, "`motions` must be of one of shoulder, elbow, .*got 'arm'"),
        ({"left_knee": {"twist": 1}}, "`motions` must be one of flexion for left_knee, got 'twist'"),
        ({"toes": {"flexion": 5}}, "`motions` must be of joints that were recognised, got 'left_toes'"),
    ],
)
def test_unknown_motions_are_refused(motions: Motions, message: str) -> None:
    zero = zero_pose(recognise(keeper(), told={"left_toes": ""}))
    with pytest.raises(ArgumentError, match=message):
        turns_of("test", zero, motions)
