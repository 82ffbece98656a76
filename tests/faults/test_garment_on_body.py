"""One object answers every question about a garment on a body, and prepares each thing once."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

import phantoms
from bare import bare_body
from dressform.body.measure_trunk import find_trunk
from dressform.body.shapes import Shape
from dressform.causes.actions.try_out import Trials
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import explained_wardrobe
from dressform.errors import ArgumentError, MatchError
from dressform.faults import body_context, ease, prepared
from dressform.faults.body_context import BodyContext
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.registry import ALL_FAULTS
from dressform.faults.wardrobe import plain_wardrobe
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.jobs.explain.garments import explain_garments
from dressform.sweep.run import run_sweep

SHAPE = {"belly": 1.0, "girth": 0.4, "tall": 0.5}
WITH_FIELDS = [fault for fault in ALL_FAULTS if fault.field is not None]


@pytest.fixture(scope="module")
def tight() -> Fit:
    body, garment = phantoms.phantom_body(), phantoms.phantom_tube(clearance=0.004, sides=64)
    return make_fit(body, garment, Following(method="nearest"))


@pytest.mark.parametrize("fault", WITH_FIELDS, ids=[fault.key for fault in WITH_FIELDS])
def test_a_field_that_is_asked_for_alone_is_that_of_a_whole_check(tight: Fit, fault) -> None:
    weights = tight.body.weights(SHAPE)
    alone = GarmentOnBody(tight).field(fault.key, weights)
    whole = GarmentOnBody(tight)
    found, fields = whole.both(weights)
    np.testing.assert_array_equal(alone, whole.field(fault.key, weights))
    if fault.is_summed:
        assert alone.sum() == pytest.approx(fault.value(found), rel=1e-9)
    elif fault.layer is not None:
        np.testing.assert_array_equal(alone, fields.layers[fault.layer.name])
    if fault.key in ("exposed", "depth", "pucker", "stretch", "clearance"):
        assert np.abs(alone).max() > 0


def test_a_field_computes_no_more_than_it_needs(tight: Fit) -> None:
    worn = GarmentOnBody(tight)
    worn.field("pucker", tight.body.weights(SHAPE))
    assert "windows" in vars(worn)
    assert not {"through", "sides", "tapes", "orders", "triangles"} & vars(worn).keys()


def test_narrowed_to_one_shape_the_faults_are_the_same(tight: Fit) -> None:
    context, weights = ExplainedBody(tight.body), tight.body.weights(SHAPE)
    narrow = context.narrowed(weights)
    one = make_fit(narrow.body, tight.garment, Following(method="nearest"))
    np.testing.assert_allclose(
        GarmentOnBody(one, context=narrow).field("pucker", np.ones(1)),
        GarmentOnBody(tight, context=context).field("pucker", weights),
        atol=1e-12,
    )


def test_cloth_in_the_body_at_the_base_is_as_deep_as_it_was_pushed() -> None:
    body = phantoms.phantom_body(sides=96)
    sunk = GarmentOnBody(make_fit(body, phantoms.phantom_tube(clearance=-0.005, sides=96)))
    np.testing.assert_allclose(sunk.field("depth", np.zeros(3)), 0.005, atol=2e-4)
    assert sunk.measure(np.zeros(3)).severities["depth"] == "clean"


def test_clearance_at_the_base_counts_from_what_was_meant() -> None:
    body = phantoms.phantom_body(sides=96)
    fit = make_fit(body, phantoms.phantom_tube(clearance=0.030, sides=96))
    meant = np.full(len(fit.base), 0.010)
    room = GarmentOnBody(fit, meant=meant).field("clearance", np.zeros(3))
    np.testing.assert_allclose(room, 0.020, atol=2e-4)
    assert not GarmentOnBody(fit).field("clearance", np.zeros(3)).any()


def test_a_fault_without_a_field_is_refused(tight: Fit) -> None:
    with pytest.raises(ArgumentError, match=r"must be one of in_front, exposed, pierced, depth, .*got 'inside'"):
        GarmentOnBody(tight).field("inside", np.zeros(3))


def test_a_body_of_other_morphs_is_refused(tight: Fit) -> None:
    foreign = replace(tight, body=bare_body(("belly", "girth", "wide")))
    with pytest.raises(MatchError, match="must have the morphs of 'phantom'"):
        GarmentOnBody(foreign, context=BodyContext(tight.body))
    with pytest.raises(MatchError, match="must have the morphs of 'phantom'"):
        GarmentOnBody(tight, under=[foreign])


def test_shapes_that_a_body_keeps_are_the_last_ones() -> None:
    context = BodyContext(phantoms.phantom_body())
    shapes = np.eye(3)[[0, 1, 2, 0, 1]] * np.array([[1.0], [1.0], [1.0], [0.5], [0.5]])
    trees = [context.at(shape) for shape in shapes]
    assert [context.at(shape) is tree for shape, tree in zip(shapes[1:], trees[1:])] == [True] * 4
    assert context.at(shapes[0]) is not trees[0]
    np.testing.assert_array_equal(context.at(shapes[0]).vertices, trees[0].vertices)


def test_sweep_causes_and_pictures_of_one_process_prepare_a_fit_once(
    tight: Fit, monkeypatch: pytest.MonkeyPatch
) -> None:
    counted: Counter[str] = Counter()
    tried = Trials.of_remedy

    def uncounted(*args):
        before = counted.copy()
        found = tried(*args)  # a remedy makes another garment or another fit, which is prepared anew
        counted.clear()
        counted.update(before)
        return found

    monkeypatch.setattr(Trials, "of_remedy", uncounted)
    for name in ("prepare_show_through", "pucker_windows", "make_tapes", "find_orders", "skin_stretch"):
        _count(name, counted, monkeypatch)
    wardrobe, fits = explained_wardrobe(), {"tube": tight}
    shapes = {"tube": [Shape("base", np.zeros(3)), Shape("worst", tight.body.weights(SHAPE))]}
    swept = run_sweep(fits, shapes, wardrobe=wardrobe)
    causes = explain_garments(fits, swept, wardrobe=wardrobe)
    wardrobe.worn(tight).fields(shapes["tube"][1].weights)
    assert causes.of_garment["tube"]
    assert counted == {
        "prepare_show_through": 1, "pucker_windows": 1, "make_tapes": 1, "find_orders": 1, "skin_stretch": 1
    }  # fmt: skip


def test_the_trunk_is_found_once_for_all_garments_of_a_body(monkeypatch: pytest.MonkeyPatch) -> None:
    found: list[object] = []
    for module in (body_context, ease):
        monkeypatch.setattr(module, "find_trunk", lambda standing: found.append(standing) or find_trunk(standing))
    body, wardrobe = phantoms.phantom_body(), explained_wardrobe()
    worn = [wardrobe.worn(make_fit(body, phantoms.phantom_tube(clearance=room))) for room in (0.01, 0.02)]
    assert all(one.tapes.base == {} for one in worn)
    assert not worn[0].context.narrowed(body.weights(SHAPE)).tape_lines.marks
    assert len(found) == 1


def _count(name: str, counted: Counter[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Count the calls of a preparation for the cloth that came first: trials prepare patches, and changed cloth."""
    real = getattr(prepared, name)
    cloths = {"prepare_show_through": lambda args: args[0].vertices, "pucker_windows": lambda args: args[0]}
    cloths |= {"make_tapes": lambda args: args[1], "find_orders": lambda args: args[0]}
    cloths |= {"skin_stretch": lambda args: args[3]}
    own: list[np.ndarray] = []

    def told(*args, **options):
        cloth = cloths[name](args)
        own.append(cloth)
        counted[name] += bool(np.array_equal(cloth, own[0]))
        return real(*args, **options)

    monkeypatch.setattr(prepared, name, told)


def test_a_wardrobe_keeps_the_garments_that_were_asked_for_last(tight: Fit) -> None:
    wardrobe = plain_wardrobe(kept=2)
    fits = [replace(tight) for _ in range(3)]
    first, second = wardrobe.worn(fits[0]), wardrobe.worn(fits[1])
    assert wardrobe.worn(fits[0]) is first
    third = wardrobe.worn(fits[2])
    assert wardrobe.worn(fits[0]) is first
    assert wardrobe.worn(fits[2]) is third
    assert wardrobe.worn(fits[1]) is not second
    assert first.context is second.context is third.context
