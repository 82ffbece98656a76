"""Two levels of known distance: outline, clearance and pop are what closed forms say."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.sparse import eye_array

from dressform.body.range import Range
from dressform.body.shapes import Shape
from dressform.errors import MatchError
from dressform.fit.make import make_fit
from dressform.levels.apart import levels_apart, refuse_other_range, shared_shapes
from phantoms import phantom_body, phantom_tube

BODY = phantom_body(rings=24, sides=24)
BASE, GIRTH = Shape("base", np.zeros(3)), Shape("girth=1", np.array([0.0, 1.0, 0.0]))


def test_a_wider_tube_is_as_far_as_it_is_wider_and_pops_by_what_a_shape_adds() -> None:
    finer = make_fit(BODY, phantom_tube(clearance=0.020, rings=12, sides=48))
    coarser = make_fit(BODY, phantom_tube(clearance=0.026, rings=12, sides=48, name="wide"))
    outward = coarser.base * np.array([1.0, 0.0, 1.0])
    outward /= np.linalg.norm(outward, axis=1, keepdims=True)
    deltas = finer.deltas.copy()
    deltas[1] += 0.010 * outward
    found = levels_apart(finer, replace(coarser, deltas=deltas), eye_array(len(finer.base)).tocsr(), [BASE, GIRTH])
    assert found.modelled.apart == pytest.approx(0.006, abs=2 * found.modelled.pixel)
    at_base, at_girth = found.rows
    assert at_base.pop == pytest.approx(0.0, abs=at_base.seen.pixel)
    assert at_base.clearance_usual == pytest.approx(0.006, abs=1e-4)
    assert found.widest is at_girth
    assert found.pop == pytest.approx(0.010, abs=2 * at_girth.seen.pixel)
    assert found.loosest is at_girth
    assert at_girth.clearance_usual == pytest.approx(0.016, abs=2e-4)


def test_shapes_of_both_bodies_are_compared_once_and_morphs_that_one_lacks_are_nought() -> None:
    few = replace(BODY, morph_names=("girth",), deltas=BODY.deltas[1:2], range=Range.unit(("girth",)))
    ours = [Shape("base", np.zeros(1)), Shape("half", np.array([0.5]))]
    theirs = [BASE, GIRTH, Shape("tall=1 girth=0.5", np.array([0.0, 0.5, 1.0]))]
    assert [one.label for one in shared_shapes(BODY, few, ours, theirs)] == ["base", "girth=1", "girth=0.5"]


def test_bodies_that_are_no_levels_of_one_are_refused() -> None:
    names = ("belly", "girth", "tall")
    wider = replace(BODY, range=Range(names, np.zeros(3), np.array([1.0, 2.0, 1.0])))
    with pytest.raises(MatchError, match="'girth' from 0 to 2 on 'phantom' and from 0 to 1"):
        refuse_other_range(BODY, wider)
    other = replace(BODY, morph_names=("a", "b", "c"), range=Range.unit(("a", "b", "c")))
    with pytest.raises(MatchError, match="shares no morph with 'phantom'"):
        refuse_other_range(BODY, other)
