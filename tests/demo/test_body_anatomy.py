"""The anatomy table: the template is the mean of the builds, and edits do what they say."""

import numpy as np
import pytest

from dressform.demo.body_anatomy import BUILDS, build, edited, tables
from dressform.demo.body_parts import FINGERS, finger_points, frames, parts
from dressform.errors import ArgumentError


def test_template_is_the_mean_of_the_builds() -> None:
    template, chosen = build(), [build(name) for name in BUILDS]
    for part in ("torso", "leg"):
        for row in ("front", "back"):
            mean = np.mean([each["parts"][part][row] for each in chosen], axis=0)
            np.testing.assert_allclose(template["parts"][part][row], mean)


@pytest.mark.parametrize("morph", tables()[1]["morphs"])
@pytest.mark.parametrize("name", BUILDS)
def test_edits_at_weight_zero_change_nothing_and_at_one_change_something(morph: str, name: str) -> None:
    plain = parts(build(name))
    same, other = parts(edited(build(name), morph, 0.0, name)), parts(edited(build(name), morph, 1.0, name))
    assert all(np.array_equal(a.section, b.section) and np.array_equal(a.origin, b.origin) for a, b in zip(plain, same))
    assert any(
        not np.array_equal(a.section, b.section) or not np.array_equal(a.origin, b.origin) for a, b in zip(plain, other)
    )


def test_edit_of_an_unknown_entry_names_it(monkeypatch: pytest.MonkeyPatch) -> None:
    wrong = {"morphs": {"tail": {"edits": [{"paths": ["parts.tail.radius"], "add": 1.0}]}}}
    monkeypatch.setattr("dressform.demo.body_anatomy.tables", lambda: (tables()[0], wrong))
    with pytest.raises(ArgumentError, match=r"edited: `paths` must be entries of .*'torso'.*got 'tail'"):
        edited(build("woman"), "tail", 1.0, "woman")


def test_frames_are_orthonormal_and_right_handed() -> None:
    for name in BUILDS:
        for frame in frames(build(name)).values():
            np.testing.assert_allclose(frame.axes @ frame.axes.T, np.eye(3), atol=1e-12)
            assert np.linalg.det(frame.axes) == pytest.approx(1.0)


def test_fingers_have_the_lengths_of_the_table() -> None:
    anatomy = build("man")
    for finger in FINGERS:
        bones = np.linalg.norm(np.diff(finger_points(anatomy, finger), axis=0), axis=1)
        np.testing.assert_allclose(bones, anatomy["fingers"][finger]["lengths"])


def test_parts_of_the_right_side_mirror_those_of_the_left() -> None:
    by_name = {(part.name, part.side): part for part in parts(build("woman"))}
    for (name, side), part in by_name.items():
        if side == "l":
            image = by_name[(name, "r")]
            np.testing.assert_allclose(image.origin, part.origin * [-1, 1, 1])
            np.testing.assert_array_equal(image.section, part.section)
