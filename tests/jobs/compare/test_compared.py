"""Two results set against each other: what differs, by how much, what it means, and what is refused."""

from collections.abc import Mapping
from dataclasses import replace

import msgspec
import numpy as np
import pytest

import dressform as df
from dressform.body.range import Range
from dressform.body.shapes import ShapeSettings
from dressform.errors import ArgumentError, MatchError
from dressform.formats.results.check_schema import StoredGarment, StoredResults
from dressform.formats.results.compare_schema import StoredComparison
from dressform.jobs.check_report import body_report
from dressform.jobs.compare.compared import compare_results
from dressform.jobs.compare.gate import ReleaseGate
from dressform.jobs.compare.run import compare_sides
from dressform.jobs.compare.sides import MeasuredSides, Side, SideSettings, measure_sides
from dressform.jobs.provenance import NO_FILE
from dressform.report.tables.comparison import outcome_sentence
from phantoms import phantom_body, phantom_tube

STILL = df.Following(strength=0.0)
FEW = ShapeSettings(strongest=0, sobol=0)
SIDES = [Side("lifted", {}, df.Following()), Side("still", {}, STILL)]


@pytest.fixture(scope="module")
def measured() -> MeasuredSides:
    """Two tubes, as lifted, and where they do not follow at all."""
    garments = [phantom_tube(), phantom_tube(name="hose", clearance=0.03)]
    return measure_sides(phantom_body(), garments, SIDES, SideSettings(shapes=FEW))


@pytest.fixture(scope="module")
def told(measured: MeasuredSides) -> StoredComparison:
    return compare_results(measured.results("lifted"), measured.results("still"), names=("lifted", "still"))


def changed(results: StoredResults, **fields: object) -> StoredResults:
    return msgspec.structs.replace(results, **fields)


def scaled(results: StoredResults, factors: Mapping[str, float]) -> StoredResults:
    """The results with the skin that shows of each garment multiplied."""

    def of(garment: StoredGarment) -> StoredGarment:
        shapes = tuple(
            msgspec.structs.replace(
                shape,
                show_through=msgspec.structs.replace(
                    shape.show_through, exposed_cm2=shape.show_through.exposed_cm2 * factors[garment.name]
                ),
            )
            for shape in garment.shapes
        )
        return msgspec.structs.replace(garment, shapes=shapes)

    return changed(results, garments=tuple(of(garment) for garment in results.garments))


def test_both_sides_are_measured_at_the_same_shapes_each_ones_worst_among_them(measured: MeasuredSides) -> None:
    rows = {key: [row.weights.tolist() for row in measured.check.swept.of(key)] for key in measured.check.fits}
    assert rows["tube lifted"] == rows["tube still"]
    assert len({tuple(row) for row in rows["tube still"]}) == len(rows["tube still"])


def test_a_page_finds_every_garment_of_both_sides_under_the_sides_names(measured: MeasuredSides) -> None:
    shown = measured.report.garments
    assert {one.key for one in shown} == set(measured.check.fits)
    assert {one.method for one in shown} == {"lifted", "still"}


def test_cloth_that_stays_behind_shows_more_skin_and_that_is_graver(told: StoredComparison) -> None:
    (exposed,) = (one for one in told.measures if one.measure == "exposed")
    assert exposed.verdict == "worse"
    assert exposed.garments == exposed.worse == 2
    assert exposed.low is not None
    assert 0.0 < exposed.low <= exposed.change <= exposed.high
    assert exposed.change == pytest.approx(exposed.after - exposed.before)
    assert {one.garment for one in told.losses if one.measure == "exposed"} == {"tube", "hose"}
    assert not [one for one in told.gains if one.measure == "exposed"]
    assert {place.fault for place in told.new} >= {"exposed"}


def test_swapped_sides_turn_every_sign(measured: MeasuredSides, told: StoredComparison) -> None:
    back = compare_results(measured.results("still"), measured.results("lifted"))
    for one, other in zip(told.measures, back.measures):
        assert one.change == pytest.approx(-other.change)
    assert {(one.garment, one.measure) for one in told.losses} == {(one.garment, one.measure) for one in back.gains}
    assert told.new == back.gone


def test_a_side_against_itself_differs_in_nothing(measured: MeasuredSides) -> None:
    same = compare_results(measured.results("still"), measured.results("still"))
    assert all(one.change == 0.0 and one.verdict == "no difference" for one in same.measures)
    assert same.losses == same.gains == same.new == same.gone == ()


def test_a_fault_that_grows_within_the_tolerance_is_not_graver(measured: MeasuredSides) -> None:
    first = measured.results("still")
    grown = scaled(first, {"tube": 1.10, "hose": 1.0})
    assert [one.garment for one in compare_results(first, grown).losses] == ["tube"]
    assert compare_results(first, grown, gate=ReleaseGate(0.2)).losses == ()


def test_changes_of_both_signs_are_no_difference_over_the_wardrobe(measured: MeasuredSides) -> None:
    first = measured.results("still")
    mixed = compare_results(first, scaled(first, {"tube": 1.3, "hose": 0.7}))
    (exposed,) = (one for one in mixed.measures if one.measure == "exposed")
    assert exposed.verdict == "no difference"
    assert (exposed.better, exposed.worse) == (1, 1)


def test_unlike_results_are_refused(measured: MeasuredSides) -> None:
    first = measured.results("lifted")
    other = changed(first, body=msgspec.structs.replace(first.body, content="0" * 64))
    with pytest.raises(MatchError, match=r"must be of the same body with the same range, got 'phantom'"):
        compare_results(first, other)
    with pytest.raises(MatchError, match=r"must have the same `bands`"):
        compare_results(first, changed(first, settings={**first.settings, "bands": {}}))
    strange = tuple(msgspec.structs.replace(one, content="1" * 64) for one in first.garments)
    with pytest.raises(MatchError, match=r"must be the same garment on both sides"):
        compare_results(first, changed(first, garments=strange))
    assert compare_results(first, changed(first, garments=strange), other_files=True).rows


def test_results_with_no_shape_in_common_are_refused_and_lone_rows_are_counted(measured: MeasuredSides) -> None:
    first = measured.results("lifted")
    halved = changed(
        first,
        garments=tuple(msgspec.structs.replace(one, shapes=one.shapes[:3]) for one in first.garments),
    )
    pair = compare_results(first, halved)
    assert pair.rows == 6
    assert pair.unpaired_first == sum(len(one.shapes) for one in first.garments) - 6
    elsewhere = tuple(
        msgspec.structs.replace(
            one, shapes=tuple(msgspec.structs.replace(shape, weights={"belly": 0.123}) for shape in one.shapes)
        )
        for one in first.garments
    )
    with pytest.raises(MatchError, match="must have a garment on the same shape, got none"):
        compare_results(first, changed(first, garments=elsewhere))


def test_a_garment_that_one_side_lacks_is_named(measured: MeasuredSides) -> None:
    first = measured.results("lifted")
    alone = changed(first, garments=tuple(one for one in first.garments if one.name == "tube"))
    told = compare_results(first, alone, names=("before", "after"))
    assert told.missing == {"hose": "before"}
    assert told.lost == ("hose",)
    assert outcome_sentence(told).startswith("LOST: after has nothing of hose. ")
    assert compare_results(alone, first, names=("before", "after")).lost == ()


def test_what_cannot_be_compared_is_refused() -> None:
    body, garments = phantom_body(), [phantom_tube()]
    with pytest.raises(ArgumentError, match=r"compare: `sides` must be two or more, of different names, got lifted"):
        compare_sides(body, garments, SIDES[:1])
    with pytest.raises(ArgumentError, match=r"compare: `tolerance` must be 0 or more, got -1"):
        compare_sides(body, garments, SIDES, gate=ReleaseGate(-1.0))


def test_the_content_of_a_body_tells_its_range() -> None:
    """Two bodies made in memory differ where only a range does."""
    body = phantom_body()
    box = Range(body.morph_names, np.zeros(3), np.array([1.0, 1.0, 0.5]))
    made = [body_report(one, NO_FILE).content for one in (body, phantom_body(), replace(body, range=box))]
    assert made[0] == made[1] != made[2]
