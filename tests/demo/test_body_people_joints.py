"""The skeleton of the demo people bends without tears, and the faulty body has its faults and no others."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from demo_people import MIRROR, people, volume
from dressform.body.body import Body
from dressform.demo.body import MORPHS, make_faulty_body
from dressform.demo.body_anatomy import build
from dressform.demo.body_parts import frames
from dressform.mesh.geometry import edge_lengths
from dressform.mesh.topology import edges


def test_skin_weights_sum_to_one_over_four_joints(body: Body) -> None:
    assert body.skin is not None
    assert body.skin.weights.shape[1] == 4
    assert (body.skin.weights >= 0.0).all()
    np.testing.assert_allclose(body.skin.weights.sum(axis=1), 1.0, atol=1e-12)


def test_arms_do_not_weigh_the_trunk_away_from_the_armpit(body: Body) -> None:
    assert body.skin is not None
    assert body.skeleton is not None
    names = body.skeleton.names
    dense = body.skin.dense(len(names))
    arm = dense[:, [names.index(f"{name}_{side}") for name in ("upper_arm", "forearm", "hand") for side in "lr"]]
    for region in ("hips", "seat", "belly", "thigh_l", "thigh_r", "head"):
        assert arm[body.regions[region]].max() < 0.02, region


def test_inverse_binds_undo_the_rest_pose(body: Body) -> None:
    assert body.skeleton is not None
    assert len(body.skeleton.names) >= 20
    still = body.skeleton.world() @ body.skeleton.inverse_bind
    np.testing.assert_allclose(still, np.broadcast_to(np.eye(4), still.shape), atol=1e-12)


@pytest.mark.parametrize(
    ("joint", "axis"),
    [("forearm_l", (0.0, 1.0, 0.0)), ("shin_r", (1.0, 0.0, 0.0)), ("upper_arm_r", (0.0, 0.0, 1.0))],
    ids=["elbow", "knee", "shoulder"],
)
def test_bending_a_joint_by_60_degrees_tears_nothing(body: Body, joint: str, axis: tuple[float, float, float]) -> None:
    assert body.skin is not None
    assert body.skeleton is not None
    local = body.skeleton.rest.copy()
    turn = Rotation.from_rotvec(np.radians(60.0) * np.array(axis))
    local[body.skeleton.names.index(joint), :3, :3] = turn.as_matrix()
    posed = body.skin.pose(body.vertices, body.skeleton.world(local) @ body.skeleton.inverse_bind)
    assert volume(posed, body.faces) == pytest.approx(volume(body.vertices, body.faces), rel=0.02)
    pairs = edges(body.faces)
    ratio = edge_lengths(posed, pairs) / edge_lengths(body.vertices, pairs)
    assert ratio.max() < 2.6
    assert np.percentile(ratio, 99) < 1.5


def test_faulty_body_adds_plate_and_curl_and_keeps_the_rest() -> None:
    faulty, clean = make_faulty_body(), people()["woman"]
    assert faulty.morph_names == (*MORPHS, "patch", "curl")
    np.testing.assert_array_equal(faulty.deltas[: len(MORPHS)], clean.deltas)
    np.testing.assert_array_equal(faulty.vertices, clean.vertices)


def test_plate_moves_as_one_stiff_piece_with_a_step_at_its_rim() -> None:
    faulty = make_faulty_body()
    delta = faulty.deltas[faulty.morph_names.index("patch")]
    moved = np.linalg.norm(delta, axis=1) > 0.0
    assert moved.sum() > 60
    assert not (moved & ~faulty.regions["back"]).any()
    pairs = edges(faulty.faces)
    inside = moved[pairs].all(axis=1)
    strain = edge_lengths(faulty.vertices + delta, pairs[inside]) / edge_lengths(faulty.vertices, pairs[inside])
    assert np.abs(strain - 1.0).max() < 0.06
    rim = moved[pairs].sum(axis=1) == 1
    inner_step = np.linalg.norm(delta[pairs[inside, 0]] - delta[pairs[inside, 1]], axis=1)
    rim_step = np.linalg.norm(delta[pairs[rim, 0]] - delta[pairs[rim, 1]], axis=1)
    assert np.median(rim_step) > 5.0 * np.median(inner_step)


def test_curl_brings_the_fingertips_towards_the_palm_and_moves_nothing_else() -> None:
    faulty = make_faulty_body()
    assert faulty.skeleton is not None
    delta = faulty.deltas[faulty.morph_names.index("curl")]
    at = dict(zip(faulty.skeleton.names, faulty.skeleton.positions))
    for side in ("l", "r"):
        for finger in ("index", "middle", "ring", "little"):
            vertices = np.flatnonzero(faulty.regions[f"{finger}_{side}"])
            tip = vertices[np.linalg.norm(faulty.vertices[vertices] - at[f"hand_{side}"], axis=1).argmax()]
            before = np.linalg.norm(faulty.vertices[tip] - at[f"hand_{side}"])
            after = np.linalg.norm(faulty.vertices[tip] + delta[tip] - at[f"hand_{side}"])
            assert after < 0.9 * before
            out_of_palm = frames(build("woman"))["hand"].axes[2] * (MIRROR if side == "r" else 1.0)
            assert delta[tip] @ out_of_palm > 0.03
    hands = faulty.regions["hand_l"] | faulty.regions["hand_r"]
    assert np.linalg.norm(delta[~hands], axis=1).max() < 1e-4
