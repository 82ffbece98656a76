"""The people of Saltmarsh walk and haul: steps and pulls of both sides, feet on the ground, read back as written."""

from pathlib import Path

import numpy as np
import pytest

from dressform.body.stances.human import recognise
from dressform.body.stances.motion_table import joint_motions
from dressform.body.stances.turns import modelled_worlds
from dressform.demo.moving import clips_of, stances_text
from dressform.formats.gltf.animations import JointClip
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.gltf.save import save_body
from dressform.formats.load import load_body
from dressform.formats.moving.stances_file import stances_beside
from dressform.jobs.stances import find_stances
from skeletons import jointed_body, keeper

CLIPS = {clip.name: clip for clip in clips_of(jointed_body())}
NAMES = keeper().names


def places(clip: JointClip, joint: str) -> np.ndarray:
    return np.stack([keeper().world(local)[NAMES.index(joint), :3, 3] for local in clip.local])


@pytest.mark.parametrize("name", CLIPS)
def test_clip_ends_where_it_starts_and_stands_on_the_ground(name: str) -> None:
    clip = CLIPS[name]
    assert np.array_equal(clip.local[0], clip.local[-1])
    still = modelled_worlds(keeper())[:, 1, 3]
    soles = [NAMES.index(f"{joint}_{side}") for joint in ("foot", "toes") for side in "lr"]
    lifts = np.stack([keeper().world(local)[soles, 1, 3] - still[soles] for local in clip.local])
    assert np.allclose(lifts.min(axis=1), 0, atol=1e-9)


def test_right_leg_of_the_walk_does_half_a_cycle_later_what_the_left_one_did() -> None:
    left, right = (places(CLIPS["walk"], f"foot_{side}") - places(CLIPS["walk"], "pelvis") for side in "lr")
    half = (len(left) - 1) // 2
    assert np.allclose(left[:half, 1:], right[half : 2 * half, 1:], atol=0.005)
    assert np.ptp(left[:, 2]) > 0.5


def test_one_hand_reaches_while_the_other_pulls() -> None:
    left, right = (places(CLIPS["haul"], f"hand_{side}")[:, 2] for side in "lr")
    assert np.ptp(left) > 0.3
    assert np.corrcoef(left, right)[0, 1] < -0.7


def test_no_motion_goes_beyond_the_published_limits() -> None:
    from dressform.demo.moving import _clips, _motions  # noqa: PLC0415

    opposite = {"flexion": "extension", "dorsiflexion": "plantar_flexion"}
    for told in _clips().values():
        for key in range(told["keys"]):
            for part, steps in _motions(told, key, told["keys"]).items():
                for motion, degrees in steps.items():
                    kind = part.removeprefix("left_").removeprefix("right_")
                    row = joint_motions().get((kind, motion if degrees >= 0 else opposite.get(motion, motion)))
                    assert row is not None, (part, motion)
                    assert abs(degrees) <= row.degrees, (part, motion, degrees)


def test_written_clips_are_read_back_and_played(tmp_path: Path) -> None:
    body = jointed_body()
    save_body(body, tmp_path / "body.glb", clips={body.name: tuple(CLIPS.values())})
    file = load_body(tmp_path / "body.glb", units="m", up="y", front="z")
    assert file.body.skeleton is not None
    assert [animation.name for animation in read_animations(file)] == list(CLIPS)
    order = [file.body.skeleton.names.index(name) for name in NAMES]
    for animation in read_animations(file):
        clip = CLIPS[animation.name]
        for time, local in zip(clip.times, clip.local):
            assert np.abs(animation.worlds(float(time))[order] - keeper().world(local)).max() < 1e-5


def test_clip_that_moves_nothing_is_left_out(tmp_path: Path) -> None:
    body, still = jointed_body(), np.stack([keeper().rest] * 2)
    save_body(body, tmp_path / "body.glb", clips={body.name: (JointClip("still", np.array([0.0, 1.0]), still),)})
    assert read_animations(load_body(tmp_path / "body.glb", units="m", up="y", front="z")) == ()


def test_stances_of_the_demo_are_found_beside_its_body(tmp_path: Path) -> None:
    save_body(jointed_body(), tmp_path / "body.glb")
    stances_beside(tmp_path / "body.glb").write_bytes(stances_text())
    found = find_stances(load_body(tmp_path / "body.glb", units="m", up="y", front="z").body)
    assert [found.stances[0].name, len(found.stances)] == ["net on the shoulder", 15]
    assert recognise(keeper()).is_human
