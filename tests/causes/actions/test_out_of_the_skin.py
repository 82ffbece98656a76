"""A garment that lies wholly in the body: told as too tight, with advice, though skin may show once it is let out."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from dressform.causes.action import Action
from dressform.causes.actions.graver import graver, out_of_the_skin
from dressform.causes.actions.make import make_actions
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.remedies import let_out as remedies
from dressform.causes.remedies.let_out import let_out
from dressform.causes.remedies.remedy import Group
from dressform.causes.results import TOO_TIGHT, Explanation
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.in_front import IN_FRONT
from phantoms import phantom_body, phantom_tube
from seeded_phantoms import rows_of
from seeded_scenes import Scene

DEEP = 0.025
"""Deeper in the body than a cluster reaches, metres."""


@cache
def sunk() -> tuple[ExplainedGarment, tuple[Explanation, ...], tuple[Action, ...]]:
    scene = Scene("tube", phantom_body(), phantom_tube(clearance=-DEEP, sides=24, rings=12))
    worn, rows = ExplainedGarment(scene.fit), rows_of(scene)
    said = explain_garment(worn, rows, key="tube")
    return worn, said, make_actions(worn, rows, said)


def test_skin_in_front_of_a_coarse_garment_deep_in_the_body_is_told_as_too_tight() -> None:
    _, said, _ = sunk()
    assert {one.cause for one in said if one.cluster.fault == IN_FRONT.key} == {TOO_TIGHT}


def test_letting_out_is_offered_though_a_little_of_the_skin_then_shows() -> None:
    (action,) = sunk()[2]
    best = action.offered[0]
    seen = next(one for one in best.left if one.fault == EXPOSED.key)
    assert seen.before == pytest.approx(next(one.before for one in best.left if one.fault == IN_FRONT.key), rel=0.01)
    assert 0.0 < seen.after < 0.05 * seen.before
    assert best.share <= 1.0 - seen.after / seen.before + 1e-9


def test_more_room_is_tried_while_skin_would_still_be_seen() -> None:
    (action,) = sunk()[2]
    left = [next((e.after for e in one.left if e.fault == EXPOSED.key), 0.0) for one in action.tried]
    assert len(left) > 1
    assert left[0] == min(left)


def test_skin_that_shows_counts_as_graver_where_none_was_in_front_before() -> None:
    worn, _, _ = sunk()
    before = worn.measure(worn.context.body.range.low)
    none = replace(before, at_base=replace(before.at_base, skin_area=0.0))
    after = replace(none, show_through=replace(none.show_through, exposed_area=0.01), severities=none.severities)
    assert EXPOSED.key not in out_of_the_skin(none, after, DEEP)
    assert EXPOSED.key in out_of_the_skin(before, after, DEEP)
    after = replace(after, severities={**none.severities, EXPOSED.key: "grave"})
    assert EXPOSED.key in graver(none, after)


def test_no_remedy_asks_for_cloth_that_stands_less_than_nothing_off_the_skin(monkeypatch: pytest.MonkeyPatch) -> None:
    """Evened out, some cloth in an armpit may stay in the skin: "until it stands -3.9 mm and more off the skin"."""
    worn, said, _ = sunk()
    monkeypatch.setattr(remedies, "evenly_outward", lambda worn, room, reach: (np.ones_like(worn.fit.base), -0.004))
    words = [remedy.words for remedy in let_out(Group(worn, TOO_TIGHT, "", said))]
    assert len(words) == 5
    assert not any("-" in one or "−" in one for one in words)
