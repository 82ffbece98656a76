"""Arms and legs are found on the bare surface, in every pose of the arms, and not claimed where there are none."""

import numpy as np
import pytest

from dressform.body.measure_limbs import find_limbs, sweep_direction
from phantom import ARM_LENGTH, CROTCH, LEG_OUT, Phantom, arm_radius


@pytest.mark.parametrize("drop", [0.0, 45.0, 65.0])
def test_crotch_and_armpits_of_the_phantom_are_where_its_parts_meet(drop: float) -> None:
    phantom = Phantom(drop=drop)
    body = phantom.body
    limbs = find_limbs(body.vertices, body.faces)
    assert not limbs.missing
    assert limbs.crotch is not None
    assert body.vertices[limbs.crotch, 1] == pytest.approx(CROTCH, abs=1e-3)
    for side, sign in (("left", 1.0), ("right", -1.0)):
        start, arm = phantom.arm(sign)
        along = (body.vertices[limbs.armpits[side]] - start) @ arm
        assert -0.03 < along < 0.15
        # The armpit lies on the trunk and on the arm at once.
        beyond = body.vertices[np.unique(body.faces[limbs.arms[side]])]
        offset = beyond - start
        away = np.linalg.norm(offset - (offset @ arm)[:, None] * arm, axis=1)
        assert away.max() < 0.06
        assert np.linalg.norm(body.vertices[limbs.fingertips[side]] - start) == pytest.approx(ARM_LENGTH, abs=0.03)


def test_legs_hold_what_lies_below_the_crotch_on_their_side() -> None:
    body = Phantom().body
    limbs = find_limbs(body.vertices, body.faces)
    for side, sign in (("left", 1.0), ("right", -1.0)):
        leg = body.vertices[np.unique(body.faces[limbs.legs[side]])]
        assert leg[:, 1].max() < CROTCH
        assert np.all(sign * leg[:, 0] > 0)
        assert np.mean(leg[:, 0]) == pytest.approx(sign * LEG_OUT, abs=0.01)


def test_a_body_without_arms_says_so() -> None:
    body = Phantom(arms=False).body
    limbs = find_limbs(body.vertices, body.faces)
    assert set(limbs.missing) == {"left arm", "right arm"}
    assert "no arm leaves the left side of the trunk" in limbs.missing["left arm"]
    assert limbs.crotch is not None


def test_a_body_in_one_piece_without_legs_says_so() -> None:
    body = Phantom(arms=False).body
    kept = (body.vertices[body.faces, 1] > CROTCH + 0.05).all(axis=1)
    limbs = find_limbs(body.vertices, body.faces[kept])
    assert "where no crotch can be" in limbs.missing["legs"]
    assert limbs.crotch is None
    assert not limbs.legs


def test_small_shells_such_as_eyes_are_left_out() -> None:
    body = Phantom().body
    eye = np.array([[0.03, 1.62, 0.2], [0.04, 1.62, 0.2], [0.03, 1.63, 0.2], [0.03, 1.62, 0.21]])
    faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]]) + len(body.vertices)
    limbs = find_limbs(np.concatenate([body.vertices, eye]), np.concatenate([body.faces, faces]))
    assert limbs.shell[: len(body.faces)].all()
    assert not limbs.shell[len(body.faces) :].any()
    assert not limbs.missing


def test_the_sweep_of_a_level_arm_goes_half_way_down() -> None:
    assert np.allclose(sweep_direction(np.array([0.8, 1.4, 0.3]), 0.0, 1.4), [np.sqrt(0.5), -np.sqrt(0.5), 0])


def arm_apart(phantom: Phantom) -> tuple[np.ndarray, np.ndarray]:
    """The phantom's trunk with both arms stuck into it as closed shells of their own, and a hat above them."""
    trunk = Phantom(arms=False).body
    vertices, faces = [trunk.vertices], [trunk.faces]
    for side in (1.0, -1.0):
        start, direction = phantom.arm(side)
        along = np.linspace(-0.05, ARM_LENGTH, 60)
        across = np.cross(direction, [0.0, 0, 1])
        around = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        ring = np.cos(around)[:, None] * across + np.sin(around)[:, None] * np.array([0.0, 0, 1])
        radius = arm_radius(np.clip(along, 0, None))
        sleeve = start + along[:, None, None] * direction + radius[:, None, None] * ring
        ends = np.stack([start - 0.06 * direction, start + (ARM_LENGTH + 0.01) * direction])
        low = np.arange(59 * 24)
        right = low // 24 * 24 + (low + 1) % 24
        first = np.arange(24)
        after, last = (first + 1) % 24, 59 * 24
        caps = [
            np.stack([first, after, np.full(24, 60 * 24)], 1),
            np.stack([last + after, last + first, np.full(24, 60 * 24 + 1)], 1),
        ]
        tube = [np.stack([low, low + 24, right], 1), np.stack([right, low + 24, right + 24], 1)]
        faces.append(np.concatenate([*tube, *caps]) + sum(map(len, vertices)))
        vertices.append(np.concatenate([sleeve.reshape(-1, 3), ends]))
    return np.concatenate(vertices), np.concatenate(faces)


def test_arms_that_are_shells_of_their_own_are_found_where_they_cross_the_trunk() -> None:
    phantom = Phantom()
    limbs = find_limbs(*arm_apart(phantom))
    assert not limbs.missing
    whole = find_limbs(phantom.body.vertices, phantom.body.faces)
    vertices, _ = arm_apart(phantom)
    for side in ("left", "right"):
        place, expected = vertices[limbs.armpits[side]], phantom.body.vertices[whole.armpits[side]]
        assert np.linalg.norm((place - expected)[:2]) < 0.02
        assert np.linalg.norm(vertices[limbs.fingertips[side]] - phantom.body.vertices[whole.fingertips[side]]) < 0.05
