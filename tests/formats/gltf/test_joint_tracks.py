"""Animations of joints come out of a glTF as they are in it, in metres, +Y up; damage is named."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.load import load_body
from gltf_files import Gltf, cube
from skinned_files import SMALL, Z_UP, animate, moved, skinned, standing, trs

HALF_TURN = [0.0, 0.0, 1.0, 0.0]


def read(made: Gltf, folder: Path, **how: str):
    file = load_body(made.save(folder / "body.glb"), **how)
    return file, read_animations(file)


def test_at_the_keys_of_rest_the_skin_stays_where_it_is(tmp_path):
    made = animate(standing(), 1, "translation", [0, 2], [[0, 0.5, 0], [0, 0.9, 0]])
    file, (animation,) = read(made, tmp_path, units="m")
    body = file.body
    for time, lift in ((0.0, 0.0), (1.0, 0.2), (2.0, 0.4)):
        transforms = animation.worlds(time) @ body.skeleton.inverse_bind
        np.testing.assert_allclose(
            body.skin.pose(body.vertices, transforms), body.vertices + np.array([0, lift, 0]), atol=1e-6
        )


def test_a_file_in_centimetres_with_z_up_moves_by_metres_with_y_up(tmp_path):
    hip, knee = moved(0, 0.5, 0), moved(0, 0.25, 0.1)
    made = skinned(armature=Z_UP @ SMALL, hip=hip, knee=knee, binds=[np.linalg.inv(hip @ knee), np.linalg.inv(hip)])
    trs(made, 1, translation=[0, 0.5, 0])
    animate(made, 1, "translation", [0, 2], [[0, 0.5, 0], [0, 0.5, 100]])
    file, (animation,) = read(made, tmp_path, units="cm", up="y")
    body = file.body
    transforms = animation.worlds(2.0) @ body.skeleton.inverse_bind
    moved_by = body.skin.pose(body.vertices, transforms) - body.vertices
    # 100 of the hip's units along z are, through the armature, 1 along the file's y, and that is a centimetre.
    np.testing.assert_allclose(moved_by, np.tile([0.0, 0.01, 0.0], (len(body.vertices), 1)), atol=1e-6)


def test_a_node_above_the_joints_carries_them(tmp_path):
    made = standing()
    trs(made, 2, translation=[0, 0, 0])
    animate(made, 2, "rotation", [0, 1], [[0, 0, 0, 1], HALF_TURN])
    file, (animation,) = read(made, tmp_path, units="m")
    body = file.body
    posed = body.skin.pose(body.vertices, animation.worlds(1.0) @ body.skeleton.inverse_bind)
    np.testing.assert_allclose(posed, body.vertices * [-1, -1, 1], atol=1e-6)


@pytest.mark.parametrize(
    ("mode", "values"),
    [("STEP", [[0, 0.5, 0], [0, 0.9, 0]]), ("CUBICSPLINE", [[0, 0, 0], [0, 0.5, 0], [0, 0, 0]] * 2)],
)
def test_the_interpolation_is_read(mode, values, tmp_path):
    made = animate(standing(), 1, "translation", [0, 2], values, interpolation=mode)
    _, (animation,) = read(made, tmp_path, units="m")
    assert animation.tracks[0].mode == mode
    np.testing.assert_allclose(animation.tracks[0].at(1.0), [0, 0.5, 0], atol=1e-7)


def test_names_and_moments_are_those_of_the_file(tmp_path):
    made = animate(standing(), 1, "translation", [0, 1.5], [[0, 0.5, 0], [0, 0.6, 0]])
    animate(made, 0, "scale", [0.5, 1.0], [[1, 1, 1], [2, 2, 2]])
    made.tree["animations"][0]["name"] = "bow"
    _, animations = read(made, tmp_path, units="m")
    assert [one.name for one in animations] == ["bow", "animation 2"]
    assert [one.duration for one in animations] == [1.5, 1.0]
    np.testing.assert_array_equal(animations[1].times, [0.5, 1.0])


def test_what_moves_no_joint_is_passed_over(tmp_path):
    made = animate(standing(), 2, "rotation", [0, 1], [[0, 0, 0, 1], HALF_TURN])  # the armature is given as a matrix
    animate(made, None, "translation", [0, 1], [[0, 0, 0], [1, 1, 1]])
    animate(made, 3, "weights", [0, 1], [[0], [1]])
    _, animations = read(made, tmp_path, units="m")
    assert animations == ()


def test_a_body_without_joints_has_no_animations(tmp_path):
    file = load_body(cube().save(tmp_path / "cube.glb"), units="m")
    assert read_animations(file) == ()


@pytest.mark.parametrize(
    ("channel", "problem"),
    [
        (dict(times=[0, 1], values=[[0, 0, 0]]), "has 1 values for 2 keys"),
        (dict(times=[1, 1], values=[[0, 0, 0]] * 2), "whose times do not rise"),
        (dict(times=[0, 1], values=[[0, 0, 0]] * 2, interpolation="SMOOTH"), "interpolates by 'SMOOTH'"),
        (dict(times=[0, 1], values=[[0, 0, 0, 1]] * 2), "is of type VEC4, not VEC3"),
    ],
)
def test_damaged_channels_are_refused_with_their_place(channel, problem, tmp_path):
    made = animate(standing(), 1, "translation", **channel)
    with pytest.raises(FileError, match=rf"animations\[0\]\.channels\[0\]: .*{problem}"):
        read(made, tmp_path, units="m")


def test_a_rotation_without_length_is_refused(tmp_path):
    made = animate(standing(), 1, "rotation", [0, 1], [[0, 0, 0, 1], [0, 0, 0, 0]])
    with pytest.raises(FileError, match="has a rotation without length"):
        read(made, tmp_path, units="m")


def test_a_sampler_that_is_not_there_is_refused(tmp_path):
    made = animate(standing(), 1, "translation", [0, 1], [[0, 0, 0]] * 2)
    made.tree["animations"][0]["channels"][0]["sampler"] = 4
    with pytest.raises(FileError, match="names sampler 4 of 1"):
        read(made, tmp_path, units="m")
