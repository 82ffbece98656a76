"""Every fault that was built into the demo gets the cause that is written down with it."""

from functools import cache

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.shapes import Shape, label_of, shape_at_base
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.results import CAUSES, OWNERS, Causes, Explanation, Sighting
from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.wardrobe_truth import FaultyGarment, read_truth
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.places import band_value
from dressform.faults.registry import FAULT_OF
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.jobs.explain.garments import explain_garments
from dressform.sweep.results import SweepResult
from dressform.sweep.run import run_sweep

pytestmark = pytest.mark.long

FAULTS = {f"{fault.name} on {fault.body}": fault for fault in read_truth().fault}
ON_BASE = ("depth", "clearance")


@cache
def bodies() -> dict[str, Body]:
    return {**make_demo_bodies(), "faulty": make_faulty_body()}


def worn(name: str, body: str, method: str = "smooth") -> Fit:
    return make_fit(
        bodies()[body], make_wardrobe(make_demo_bodies(), names=(name,))[name].garment, Following(method=method)
    )


def swept(body: Body, fits: dict[str, Fit], *named: dict[str, float]) -> SweepResult:
    weights = [body.weights(each) for each in named]
    shapes = [shape_at_base(body.range), *(Shape(label_of(body.range, each), each) for each in weights)]
    return run_sweep(fits, dict.fromkeys(fits, shapes))


@cache
def explained(case: str) -> tuple[Explanation, ...]:
    fault = FAULTS[case]
    body, fit = bodies()[fault.body], worn(fault.name, fault.body, fault.method)
    rows = swept(body, {fault.name: fit}, fault.shape).of(fault.name)
    return explain_garment(ExplainedGarment(fit), rows, key=fault.name)


def at_fault(fault: FaultyGarment, told: tuple[Explanation, ...]) -> list[Explanation]:
    """The clusters that the truth speaks of: of its faults at its shape, or at the base."""
    wrong = [each for each in told if each.cluster.fault in fault.wrong]
    return wrong or [each for each in told if each.cluster.fault in ON_BASE and each.cluster.worst.label == "base"]


def worst_at(case: str, seen: Sighting) -> float:
    """What the vertex at the middle of a place has by itself."""
    fault = FAULTS[case]
    garment = GarmentOnBody(worn(fault.name, fault.body, fault.method))
    return abs(float(garment.field(seen.place.fault, seen.weights, seen.stance)[seen.place.vertex]))


@pytest.mark.parametrize("case", FAULTS)
def test_the_cause_that_is_written_down_is_the_one_that_is_shown(case: str) -> None:
    fault = FAULTS[case]
    found = at_fault(fault, explained(case))
    assert found
    assert {each.cause for each in found[:2]} == {fault.cause}
    assert found[0].owner == OWNERS[fault.cause]


@pytest.mark.parametrize("case", FAULTS)
def test_it_lies_where_the_truth_says(case: str) -> None:
    fault = FAULTS[case]
    place = at_fault(fault, explained(case))[0].cluster.worst.place
    regions = fault.regions if fault.wrong else (*fault.regions, "upper_arm_l", "upper_arm_r", "chest", "back")
    assert place.region in regions
    low, high = fault.heights
    assert low <= place.height <= high


@pytest.mark.parametrize("case", FAULTS)
def test_what_is_measured_at_a_cluster_holds_what_the_check_found_there(case: str) -> None:
    # What adds up may add up to more: spots nearer than the core's reach are measured with it. And a place tells no
    # more than its garment is graded by, where a small spot is worse.
    for told in explained(case):
        value = abs(band_value(told.cluster.worst.place))
        if FAULT_OF[told.cluster.fault].is_summed:
            assert told.measured >= 0.95 * value
        else:
            assert told.measured >= 0.9 * value
            is_room = told.cluster.worst.label == "base"  # how much room there is at the base is no change of clearance
            assert is_room or told.measured <= 1.1 * max(value, worst_at(case, told.cluster.worst))


@pytest.mark.parametrize("case", FAULTS)
def test_shares_are_parts_of_the_fault_and_causes_are_those_that_were_swapped(case: str) -> None:
    for told in explained(case):
        assert sum(share.share for share in told.shares) <= 1.0 + 1e-9
        assert [share.cause for share in told.shares if share.cause not in CAUSES] == []
        assert list(told.shares) == sorted(told.shares, key=lambda share: -share.share)
        if told.cause:
            assert told.shares[0].cause == told.cause
            assert told.shares[0].alone < told.measured


@pytest.mark.parametrize("case", FAULTS)
def test_advice_comes_with_a_cause_and_only_with_one(case: str) -> None:
    for told in explained(case):
        assert (told.advice is not None) == bool(told.cause)
        assert np.isfinite(list(told.evidence.values())).all()


@cache
def clean() -> tuple[dict[str, Fit], Causes]:
    body = bodies()["woman"]
    fits = {name: worn(name, "woman") for name in ("guernsey", "gloves", "souwester")}
    return fits, explain_garments(fits, swept(body, fits, {"chest": 1.0}, {"hips": 1.0}, {"legs": 1.0}))


def test_clean_garments_get_no_cause() -> None:
    fits, causes = clean()
    assert causes.of_garment == dict.fromkeys(fits, ())
    assert causes.shared == ()


def test_progress_is_told_garment_by_garment() -> None:
    body, fit = bodies()["woman"], worn("gloves", "woman")
    calls: list[tuple[int, int]] = []
    fits = {"left": fit, "right": fit}
    explain_garments(fits, swept(body, fits), progress=lambda done, total: calls.append((done, total)))
    assert calls == [(0, 2), (1, 2), (2, 2)]
