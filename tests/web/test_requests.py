"""Whatever the page sends is either a known request or an error with words; nothing else happens."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.body.range import Range
from dressform.web.requests import EditRequest, RequestError, ShapeRequest, checked_name, checked_weights, read_request

BOX = Range(("belly", "hips"), np.array([0.0, -0.5]), np.array([1.0, 0.5]))
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)
KINDS = st.sampled_from(["shape", "faults", "edit", "tape", "case", "cancel", "meshes", "fit", "pose", "nonsense"])
FIELDS = st.sampled_from(
    ["weights", "garments", "base", "pose", "settings", "targets", "of", "layers", "view", "extra"]
)


@given(st.text(max_size=60))
def test_arbitrary_text_is_refused_with_words(text):
    with pytest.raises(RequestError) as caught:
        read_request(text)
    assert str(caught.value)


@given(KINDS, st.dictionaries(FIELDS, JSON, max_size=5), st.integers() | st.none() | st.text(max_size=3))
def test_arbitrary_fields_make_a_known_ask_or_an_error(kind, fields, number):
    whole = isinstance(number, int) and not isinstance(number, bool) and 1 <= number < 2**53
    try:
        found = read_request(json.dumps({"id": number, "request": kind, **fields})).id
    except RequestError as problem:
        found = problem.request_id
    assert found == (number if whole else 0)


def test_a_shape_is_read():
    request = read_request(
        '{"id": 7, "request": "shape", "base": 1, "weights": [0, 0.5], "garments": ["coat smooth"], "pose": null}'
    )
    assert request == ShapeRequest(id=7, base=1, weights=[0.0, 0.5], garments=["coat smooth"], pose=None)


def test_of_settings_only_what_is_said_is_set():
    request = read_request(
        '{"id": 1, "request": "edit", "garment": "coat smooth", "settings": {"rotation_share": null, "strength": 1}}'
    )
    assert isinstance(request, EditRequest)
    assert request.settings.rotation_share is None
    assert request.settings.strength == 1.0
    assert not request.settings.parts


@pytest.mark.parametrize(
    ("text", "words", "number"),
    [
        ("{", "not JSON", 0),
        ("[" * 100_000, "Expected `object`, got `array`", 0),
        ('{"id": 3}', "missing required field `request`", 3),
        ('{"id": 3, "request": "format disk"}', "Invalid value 'format disk'", 3),
        ('{"id": 3, "request": "shape", "weights": [0]}', "missing required field `garments`", 3),
        ('{"id": 3, "request": "shape", "weights": ["0"], "garments": []}', "Expected `float`, got `str`", 3),
        ('{"id": 3, "request": "shape", "weights": [NaN], "garments": []}', "not JSON", 0),
        ('{"id": 3, "request": "shape", "weights": [0], "garments": [], "file": "x"}', "unknown field `file`", 3),
        ('{"id": 0, "request": "save"}', "Expected `int` >= 1", 0),
        ('{"id": 1.5, "request": "save"}', "Expected `int`, got `float`", 0),
        ('{"id": 3, "request": "export", "what": "../etc"}', "Invalid enum value '../etc'", 3),
        ('{"id": 3, "request": "edit", "garment": "a", "settings": {"strength": 2}}', "<= 1", 3),
        ('{"id": 3, "request": "edit", "garment": "a", "settings": {"margin_mm": 0}}', "> 0", 3),
        ('{"id": 3, "request": "tape", "targets": {}}', "length >= 1", 3),
        ('{"id": 3, "request": "shape", "weights": [0], "garments": [""]}', "length >= 1", 3),
    ],
)
def test_what_is_wrong_is_named_and_the_id_kept(text, words, number):
    with pytest.raises(RequestError) as caught:
        read_request(text)
    assert words in str(caught.value)
    assert caught.value.request_id == number


def test_too_many_garments_in_one_ask_are_refused():
    with pytest.raises(RequestError, match="length <= 24"):
        read_request(json.dumps({"id": 1, "request": "meshes", "garments": ["coat smooth"] * 25}))


@pytest.mark.parametrize("weights", [[0.0, 0.0], [1.1, 0.6], [-0.1, -0.6]])
def test_weights_in_the_range_and_a_tenth_beyond_pass(weights):
    np.testing.assert_array_equal(checked_weights(weights, BOX), weights)


@pytest.mark.parametrize(
    ("weights", "words"),
    [
        ([0.0], "has 2 weights, not 1"),
        ([0.0, 0.0, 0.0], "has 2 weights, not 3"),
        ([1.2, 0.0], "weight of 'belly' must lie between 0 and 1, not 1.2"),
        ([0.0, -0.7], "weight of 'hips' must lie between -0.5 and 0.5, not -0.7"),
        ([float("inf"), 0.0], "not inf"),
    ],
)
def test_weights_far_beyond_the_range_are_refused(weights, words):
    with pytest.raises(RequestError, match=words):
        checked_weights(weights, BOX)


def test_an_unknown_name_is_repeated_only_in_part():
    with pytest.raises(RequestError) as caught:
        checked_name("garment", "x" * 5000, ["coat"])
    assert len(str(caught.value)) < 150
