"""Joints of a human skeleton are recognised by hierarchy and place, whatever they are called."""

import numpy as np
import pytest

from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stances.human import AS_TOLD, BY_PLACE, HumanJoints, recognise
from dressform.errors import ArgumentError
from dressform.formats.load import load_body
from realdata import real
from skeletons import arms_out, keeper, renamed, with_chains, with_odd_axes, with_twists

KEEPER = {
    "pelvis": "pelvis",
    "trunk_1": "spine_1",
    "trunk_3": "spine_3",
    "neck_1": "neck",
    "head": "head",
    "left_collar": "clavicle_l",
    "left_shoulder": "upper_arm_l",
    "left_elbow": "forearm_l",
    "right_wrist": "hand_r",
    "left_hip": "thigh_l",
    "right_knee": "shin_r",
    "left_ankle": "foot_l",
    "right_toes": "toes_r",
    "left_thumb_2": "thumb_1_l",
    "left_thumb_3": "thumb_2_l",
    "left_index_1": "index_1_l",
    "right_middle_2": "middle_2_r",
    "left_ring_1": "ring_1_l",
    "right_little_1": "little_1_r",
}


def by_name(found: HumanJoints) -> dict[str, str]:
    return {part: found.skeleton.names[joint] for part, joint in found.joints.items()}


def in_another_order(skeleton: Skeleton, *, seed: int) -> Skeleton:
    """The same tree with its joints numbered at random, parents before their children."""
    rng = np.random.default_rng(seed)
    order: list[int] = []
    while len(order) < len(skeleton.names):
        free = [j for j, up in enumerate(skeleton.parents) if j not in order and (up < 0 or int(up) in order)]
        order.append(int(rng.choice(free)))
    parents = np.array([-1 if skeleton.parents[j] < 0 else order.index(int(skeleton.parents[j])) for j in order])
    return Skeleton(
        tuple(skeleton.names[j] for j in order), parents, skeleton.rest[order], skeleton.inverse_bind[order]
    )


@pytest.mark.parametrize(
    "skeleton",
    [
        keeper(),
        arms_out(45),
        arms_out(-30),
        with_odd_axes(keeper(), seed=1),
        in_another_order(keeper(), seed=2),
        with_twists(keeper(), name="forearm_twist_{}"),
    ],
    ids=["as modelled", "arms level", "arms low", "odd axes", "another order", "twist joints"],
)
def test_every_joint_of_the_keeper_is_recognised(skeleton: Skeleton) -> None:
    found = recognise(skeleton)
    assert found.is_human
    assert by_name(found).items() >= KEEPER.items()
    assert found.notes == ()


def test_names_that_say_nothing_change_nothing() -> None:
    silent = renamed(keeper(), tuple(f"bone {number}" for number in range(len(keeper().names))))
    assert recognise(silent).joints == recognise(keeper()).joints


def test_joints_between_are_passed_over_without_a_hint_too() -> None:
    found = by_name(recognise(with_twists(keeper(), name="bone {}")))
    limbs = {
        part: name for part, name in KEEPER.items() if part.partition("_")[2] in {"hip", "knee", "shoulder", "elbow"}
    }
    assert found.items() >= limbs.items()


def test_wings_hair_skirts_and_tools_are_no_limbs() -> None:
    along = np.linspace(0.2, 1.0, 4)[:, None]
    more: dict[str, tuple[str, np.ndarray]] = {"hair": ("head", np.array([[0, 1.6, 0.0], [0, 1.75, 0], [0, 1.9, 0]]))}
    for side, sign in (("l", 1), ("r", -1)):
        more[f"wing_{side}"] = ("spine_3", np.array([0, 1.3, -0.1]) + along * (sign * 1.4, 0.3, 0))
        more[f"skirt_{side}"] = ("pelvis", np.array([sign * 0.2, 0.9, 0]) - along * (0, 0.6, 0))
        more[f"tool_{side}"] = (f"hand_{side}", np.array([sign * 0.6, 0.9, 0]) + along * (sign * 0.05, 0, 0.1))
    found = by_name(recognise(with_chains(keeper(), more)))
    assert {part: name for part, name in found.items() if part in KEEPER and "_1" not in part} == {
        part: name for part, name in KEEPER.items() if "_1" not in part
    }


def test_hands_without_fingers_end_their_arms() -> None:
    fingers = [
        n for n, name in enumerate(keeper().names) if name[:-4] in {"thumb", "index", "middle", "ring", "little"}
    ]
    kept = np.setdiff1d(np.arange(len(keeper().names)), fingers)
    parents = np.array([-1 if up < 0 else int(np.flatnonzero(kept == up)[0]) for up in keeper().parents[kept]])
    names = tuple(keeper().names[n] for n in kept)
    found = by_name(recognise(Skeleton(names, parents, keeper().rest[kept], keeper().inverse_bind[kept])))
    limbs = {part: name for part, name in KEEPER.items() if "_1" not in part and "_2" not in part and "_3" not in part}
    assert found.items() >= limbs.items()


def test_mere_ends_are_no_joints() -> None:
    """A joint that marks the end of the toes, or carries no skin, is not taken for the toes themselves."""
    names, worlds = [*keeper().names, "marker"], np.linalg.inv(keeper().inverse_bind)
    tip = worlds[names.index("toes_l")].copy()
    tip[:3, 3] += (0, -0.005, 0.06)
    parents = np.append(keeper().parents, names.index("toes_l"))
    rest = np.concatenate([keeper().rest, np.linalg.inv(worlds[names.index("toes_l")])[None] @ tip])
    longer = Skeleton(tuple(names), parents, rest, np.concatenate([keeper().inverse_bind, np.linalg.inv(tip)[None]]))
    count = len(keeper().names)
    skin = Skin(np.tile(np.arange(count)[:, None], (1, 4)), np.tile([1.0, 0, 0, 0], (count, 1)))
    assert by_name(recognise(longer, skin))["left_toes"] == "toes_l"


def test_what_the_user_tells_wins_and_is_said() -> None:
    found = recognise(keeper(), told={"left_elbow": "hand_l", "left_toes": ""})
    assert by_name(found)["left_elbow"] == "hand_l"
    assert "left_toes" not in found.joints
    assert (found.how["left_elbow"], found.how["right_elbow"]) == (AS_TOLD, BY_PLACE)


def test_unknown_parts_and_joints_are_refused() -> None:
    with pytest.raises(ArgumentError, match="`joints` must be parts of a human body, got 'left_arm'"):
        recognise(keeper(), told={"left_arm": "hand_l"})
    with pytest.raises(ArgumentError, match=r"`joints` must be named as the joints: root, pelvis, .* 'arm' for head"):
        recognise(keeper(), told={"head": "arm"})


def test_a_chain_of_joints_is_not_called_human() -> None:
    rest = np.tile(np.eye(4), (5, 1, 1))
    rest[1:, 1, 3] = 0.3
    worlds = np.stack([np.linalg.matrix_power(rest[1], number) for number in range(5)])
    chain = Skeleton(tuple("abcde"), np.arange(5) - 1, rest, np.linalg.inv(worlds))
    assert not recognise(chain).is_human


def test_sides_that_are_not_mirrored_are_remarked_on() -> None:
    rest = keeper().rest.copy()
    rest[keeper().names.index("forearm_r"), :3, 3] += (0, 0, 0.2)
    bind = np.linalg.inv(Skeleton(keeper().names, keeper().parents, rest, rest).world())
    notes = recognise(Skeleton(keeper().names, keeper().parents, rest, bind)).notes
    assert any("forearm_l and forearm_r were taken for the two sides' elbow" in note for note in notes)


@pytest.mark.data
def test_joints_of_a_real_skeleton_are_recognised() -> None:
    body = load_body(real("loader/human-female.glb")).body
    assert body.skeleton is not None
    found = by_name(recognise(body.skeleton, body.skin))
    assert {part: name.rpartition("_")[0] for part, name in found.items() if part.startswith("left_")} == {
        "left_collar": "clavicle", "left_shoulder": "upperarm", "left_elbow": "lowerarm", "left_wrist": "hand",
        "left_hip": "thigh", "left_knee": "calf", "left_ankle": "foot", "left_toes": "ball",
        **{f"left_{ours}_{number}": f"{theirs}_0{number}" for number in (1, 2, 3) for ours, theirs in (
            ("thumb", "thumb"), ("index", "index"), ("middle", "middle"), ("ring", "ring"), ("little", "pinky"))},
    }  # fmt: skip
    assert [found[part] for part in ("pelvis", "trunk_1", "trunk_2", "trunk_3", "neck_1", "head")] == [
        "pelvis", "spine_01", "spine_02", "spine_03", "neck_01", "head",
    ]  # fmt: skip
