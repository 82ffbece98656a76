"""How a garment follows: changed setting by setting, and the same in the file that `check` and `fit` read."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.formats.following_file import FollowingSettings, read_following, write_following
from dressform.garment.strength import with_strength
from dressform.web.asks import AskError, Settings
from dressform.web.following import Following
from solids import open_tube

TUBE = open_tube()
SHARES = st.floats(0, 1)
SETTINGS = st.fixed_dictionaries(
    {
        "strength": SHARES,
        "parts": st.dictionaries(st.sampled_from(TUBE.part_names), SHARES),
        "falloff": st.integers(0, 10_000).map(lambda tenths: tenths / 1e4),
        "channel": st.none() | st.just("COLOR_0.r"),
        "hard": st.lists(st.sampled_from(TUBE.part_names), unique=True).map(tuple),
        "margin": st.integers(1, 1000).map(lambda tenths: tenths / 1e4),
        "ease": st.sampled_from(["keep", "scale"]),
        "turn": st.none() | SHARES,
    }
)


def told(following: Following) -> dict[str, object]:
    return {name: value for name, value in following.told().items() if not name.endswith("_mm")}


@settings(max_examples=40)
@given(SETTINGS, st.none() | SHARES)
def test_what_is_saved_and_read_again_is_the_same(tmp_path_factory, values, paint):
    mask = None if paint is None else np.full(len(TUBE.vertices), np.float32(paint), dtype=np.float64)
    following = Following(**values, mask=mask)
    path = tmp_path_factory.mktemp("follow") / "follow.toml"
    write_following(path, {"tube": following.settings()})
    back = Following.of(read_following(path)["tube"], Following())
    assert told(back) == told(following)
    assert back.falloff == pytest.approx(following.falloff, abs=1e-12)
    assert back.margin == pytest.approx(following.margin, abs=1e-12)
    assert back.channel == following.channel
    if following.mask is not None:
        np.testing.assert_array_equal(back.mask, following.mask)


def test_what_is_as_always_is_not_written():
    assert Following().settings() == FollowingSettings()


def test_a_garment_that_is_off_follows_nowhere():
    off = Following.of(FollowingSettings(follow=False), Following())
    assert off.apply(TUBE).strength.max() == 0.0


def test_what_a_file_says_wins_and_the_rest_stays():
    before = Following(strength=0.5, parts={"skirt": 0.1}, rotation_share=0.3, hard=("yoke",))
    after = Following.of(FollowingSettings(parts={"yoke": 0.2}, margin=0.004), before)
    assert after == Following(
        strength=0.5, parts={"skirt": 0.1, "yoke": 0.2}, rotation_share=0.3, hard=("yoke",), margin=0.004
    )


def test_each_setting_changes_alone():
    changes = [
        (Settings(strength=0.25), Following(strength=0.25)),
        (Settings(parts={"skirt": 0.5}), Following(parts={"skirt": 0.5})),
        (Settings(falloff_mm=12.0), Following(falloff=0.012)),
        (Settings(hard=["yoke", "yoke"]), Following(hard=("yoke",))),
        (Settings(margin_mm=3.0), Following(margin=0.003)),
        (Settings(ease="scale"), Following(ease="scale")),
        (Settings(rotation_share=0.75), Following(rotation_share=0.75)),
    ]
    for change, wanted in changes:
        assert Following().changed(change, TUBE) == wanted
    assert Following(rotation_share=0.75).changed(Settings(rotation_share=None), TUBE) == Following()


def test_a_part_takes_a_strength_and_gives_it_back():
    both = Following(parts={"skirt": 0.5}).changed(Settings(parts={"yoke": 0.0}), TUBE)
    assert both.parts == {"skirt": 0.5, "yoke": 0.0}
    assert both.changed(Settings(parts={"skirt": None}), TUBE).parts == {"yoke": 0.0}


def test_paint_takes_the_place_of_the_files_own_strength():
    paint = np.linspace(0, 1, len(TUBE.vertices))
    painted = Following().changed(Settings(mask=paint.tolist()), TUBE)
    expected = with_strength(TUBE, mask=paint).strength
    np.testing.assert_array_equal(painted.apply(TUBE).strength, expected)
    np.testing.assert_array_equal(painted.changed(Settings(mask=None), TUBE).apply(TUBE).strength, TUBE.strength)


def test_without_settings_the_garment_is_the_very_same():
    assert Following().apply(TUBE) is TUBE


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (Settings(parts={"hood": 1.0}), "no part of 'tube' 'hood'"),
        (Settings(hard=["hood"]), "no part of 'tube' 'hood'"),
        (Settings(mask=[1.0]), "values, not 1"),
        (Settings(ease="loose"), "no ease policy 'loose'"),
    ],
)
def test_what_does_not_fit_the_garment_is_refused(change, words):
    with pytest.raises(AskError, match=words):
        Following().changed(change, TUBE)
