"""What comes through from below has a cause, and an action that was tried on both garments."""

import numpy as np

from dressform.causes.actions.make import make_actions
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.patch import cut_patch
from dressform.causes.results import LAYER_BELOW, TOO_TIGHT
from dressform.causes.trial import make_trial
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.sweep.results import SweepRow
from phantoms import MORPHS, RADIUS, phantom_body, tube

BODY = phantom_body(rings=30, sides=32)
BASE = np.zeros(len(MORPHS))


def still(name: str, clearance: float, *, bump: float = 0.0) -> Fit:
    """A tube that stays where it is, with a round bump in front."""
    vertices, faces = tube(clearance=clearance, bottom=0.75, top=1.15, rings=30, sides=60)
    ahead = np.exp(-(((vertices - [0.0, 0.95, RADIUS + clearance]) / 0.05) ** 2).sum(axis=1))
    out = vertices * [1.0, 0.0, 1.0]
    out /= np.linalg.norm(out, axis=1, keepdims=True)
    garment = Garment.of(name, vertices + bump * ahead[:, None] * out, faces)
    return Fit(BODY, garment, DEFAULT_FOLLOWING, garment.vertices, np.zeros((3, *garment.vertices.shape)))


def told(worn: ExplainedGarment) -> tuple[list[SweepRow], list]:
    rows = [SweepRow("over", "base", BASE, worn.measure(BASE), 0.0, False)]
    return rows, [one for one in explain_garment(worn, rows, key="over") if one.cluster.fault == "pierced"]


def test_a_bump_of_the_layer_below_is_its_cause_and_the_repaired_outfit_cures_it() -> None:
    worn = ExplainedGarment(still("over", 0.02), under=[still("inner", 0.01, bump=0.02)])
    rows, explained = told(worn)
    assert [one.cause for one in explained] == [LAYER_BELOW]
    assert explained[0].measured > 0.002
    assert explained[0].shares[0].alone == 0.0
    (action,) = make_actions(worn, rows, explained)
    best = action.offered[0]
    assert best.words.startswith("let it out over `inner` by up to ")
    assert best.cured == action.places
    assert not best.spoilt


def test_taking_off_what_is_below_is_tried_only_where_no_other_swap_does_as_much() -> None:
    """Cloth that lies in the skin at the base is too tight whatever it is worn over; let out, it covers the layer."""
    tight = still("over", 0.02, bump=-0.03)
    _, explained = told(ExplainedGarment(tight, under=[still("inner", 0.01)]))
    assert {one.cause for one in explained} == {TOO_TIGHT}
    assert LAYER_BELOW not in [share.cause for share in explained[0].shares]


def test_a_garment_worn_over_nothing_has_nothing_between_layers() -> None:
    assert told(ExplainedGarment(still("over", 0.02)))[1] == []


def test_the_swap_takes_off_the_layer_and_leaves_the_garment() -> None:
    worn = ExplainedGarment(still("over", 0.02), under=[still("inner", 0.01, bump=0.02)])
    _, (one,) = told(worn)
    patch = cut_patch(worn, worn.context.narrowed(BASE), one.cluster)
    as_it_is, bare = make_trial(patch, ()), make_trial(patch, (LAYER_BELOW,))
    assert np.isclose(as_it_is.value, worn.measure(BASE).broken.pierced_area)
    assert bare.value == 0.0
    assert np.array_equal(as_it_is.fit.base, bare.fit.base)
