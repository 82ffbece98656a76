"""How a garment follows: changed by a page setting by setting, and the same in the file that `check` and `fit` read."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.formats.following_file import read_following, write_following
from dressform.garment.following import DEFAULT_FOLLOWING, EASES, JOINT_WEIGHTS, METHODS, Following
from dressform.garment.garment import Garment
from dressform.garment.strength import follow_as, with_strength
from dressform.web.following import changed, page_settings
from dressform.web.requests import RequestError, SettingsChange
from solids import open_tube

TUBE = open_tube()
SHARES = st.floats(0, 1)
SETTINGS = st.fixed_dictionaries(
    {
        "method": st.sampled_from(METHODS),
        "ease": st.sampled_from(EASES),
        "rotation_share": st.none() | SHARES,
        "strength": SHARES,
        "parts": st.dictionaries(st.sampled_from(TUBE.part_names), SHARES),
        "falloff_mm": st.floats(0, 1000),
        "hard": st.lists(st.sampled_from(TUBE.part_names), unique=True).map(tuple),
        "margin_mm": st.floats(0.001, 100),
        "joint_weights": st.sampled_from(JOINT_WEIGHTS),
        "part_joints": st.dictionaries(st.sampled_from(TUBE.part_names), st.sampled_from(["", "hand_l"])),
    }
)
PAINT = SHARES.map(lambda paint: np.full(len(TUBE.vertices), np.float32(paint), dtype=np.float64))
MASKS = st.none() | st.just("COLOR_0.r") | PAINT


def edited(
    settings: SettingsChange, following: Following = DEFAULT_FOLLOWING, opened: Following = DEFAULT_FOLLOWING
) -> Following:
    return changed(following, settings, TUBE, opened=opened)


@settings(max_examples=40)
@given(SETTINGS, MASKS)
def test_what_is_saved_and_read_again_is_the_same(tmp_path_factory, values, mask):
    following = Following(**values, mask=mask)
    path = tmp_path_factory.mktemp("follow") / "follow.toml"
    write_following(path, {"tube": following})
    assert read_following(path)["tube"] == following


def test_each_setting_changes_alone():
    changes = [
        (SettingsChange(strength=0.25), Following(strength=0.25)),
        (SettingsChange(parts={"skirt": 0.5}), Following(parts={"skirt": 0.5})),
        (SettingsChange(falloff_mm=12.0), Following(falloff_mm=12.0)),
        (SettingsChange(hard=["yoke", "yoke"]), Following(hard=("yoke",))),
        (SettingsChange(margin_mm=3.0), Following(margin_mm=3.0)),
        (SettingsChange(ease="scale"), Following(ease="scale")),
        (SettingsChange(rotation_share=0.75), Following(rotation_share=0.75)),
        (SettingsChange(joint_weights="smoothed"), Following(joint_weights="smoothed")),
        (SettingsChange(part_joints={"yoke": "neck"}), Following(part_joints={"yoke": "neck"})),
    ]
    for change, wanted in changes:
        assert edited(change) == wanted
    assert edited(SettingsChange(rotation_share=None), Following(rotation_share=0.75)) == Following()


def test_the_page_is_told_every_setting_that_it_can_change():
    paint = Following(mask=np.ones(len(TUBE.vertices)), rotation_share=0.25)
    told = page_settings(paint)
    assert set(told.__struct_fields__) - {"painted"} == set(SettingsChange.__struct_fields__) - {"mask"}
    assert (told.painted, told.rotation_share) == (True, 0.25)
    assert not page_settings(Following(mask="COLOR_0.r")).painted


def test_a_part_takes_a_strength_and_gives_it_back():
    both = edited(SettingsChange(parts={"yoke": 0.0}), Following(parts={"skirt": 0.5}))
    assert both.parts == {"skirt": 0.5, "yoke": 0.0}
    assert edited(SettingsChange(parts={"skirt": None}), both).parts == {"yoke": 0.0}


def strength_of(following: Following) -> np.ndarray:
    garment: Garment = follow_as(TUBE, following)
    return garment.strength


def test_paint_takes_the_place_of_the_files_own_strength():
    paint = np.linspace(0, 1, len(TUBE.vertices))
    painted = edited(SettingsChange(mask=paint.tolist()))
    np.testing.assert_array_equal(strength_of(painted), with_strength(TUBE, mask=paint).strength)
    np.testing.assert_array_equal(strength_of(edited(SettingsChange(mask=None), painted)), TUBE.strength)


def test_without_paint_the_mask_that_was_named_at_first_is_in_force_again():
    opened = Following(mask="COLOR_0.r")
    painted = edited(SettingsChange(mask=[0.5] * len(TUBE.vertices)), opened, opened)
    assert edited(SettingsChange(mask=None), painted, opened) == opened


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (SettingsChange(parts={"hood": 1.0}), "no part of 'tube' 'hood'"),
        (SettingsChange(hard=["hood"]), "no part of 'tube' 'hood'"),
        (SettingsChange(mask=[1.0]), "values, not 1"),
        (SettingsChange(ease="loose"), "no ease policy 'loose'"),
    ],
)
def test_what_does_not_fit_the_garment_is_refused(change, words):
    with pytest.raises(RequestError, match=words):
        edited(change)
