"""`df.compare`: what two checks found, in memory or from files, and garments that have another name on each side."""

import json
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

import dressform as df
from dressform.body.shapes import ShapeSettings
from dressform.errors import ArgumentError, MatchError
from dressform.formats.results.check_json import results_json, to_results
from dressform.formats.results.check_schema import StoredResults
from dressform.formats.results.receipt_read import made_from, receipt_beside
from dressform.formats.results.record import Source
from dressform.jobs.check_result import CheckResult
from dressform.jobs.compare.again import made_again, pairs_by_receipt
from dressform.jobs.compare.compared import compare_results
from dressform.jobs.compare.looked_again import measured_again
from dressform.report.tables.comparison import print_comparison
from dressform.report.tables.text import printed_text
from phantoms import phantom_body, phantom_tube

BODY, TUBE = phantom_body(rings=24, sides=24), phantom_tube(rings=10, sides=20)
FEW = ShapeSettings(strongest=0, sobol=0)


def checked(following: df.Following, *, shapes: int = 0) -> CheckResult:
    settings = replace(FEW, sobol=shapes)
    return df.check(df.fit(BODY, TUBE, following), shapes=settings, causes=False)


@pytest.fixture(scope="module")
def lifted() -> CheckResult:
    return checked(df.Following())


@pytest.fixture(scope="module")
def still() -> CheckResult:
    return checked(df.Following(strength=0.0))


def renamed(told: StoredResults, **fields: object) -> StoredResults:
    """The results with other fields of their only garment."""
    (garment,) = told.garments
    return msgspec.structs.replace(told, garments=(msgspec.structs.replace(garment, **fields),))


def test_checks_in_memory_and_the_files_that_they_write_compare_alike(
    lifted: CheckResult, still: CheckResult, tmp_path: Path
) -> None:
    paths = [tmp_path / "lifted.json", tmp_path / "still.json"]
    for path, result in zip(paths, (lifted, still)):
        path.write_text(results_json(result.report), encoding="utf-8")
    found, read = df.compare(lifted, still), df.compare(*paths)
    assert found.is_graver
    assert (found.told.sides, read.told.sides) == (("first", "second"), ("lifted", "still"))
    assert found.told.pairs[0].measures == read.told.pairs[0].measures
    assert found.told.pairs[0].garments == read.told.pairs[0].garments
    assert str(found).startswith("GRAVER: ")
    assert not df.compare(still, lifted).is_graver


def test_fits_at_hand_need_no_files_and_results_made_in_memory_say_so(lifted: CheckResult, still: CheckResult) -> None:
    seen = df.compare(lifted, still).seen()
    assert {side: set(fits) for side, fits in seen.fits.items()} == {"first": {"tube"}, "second": {"tube"}}
    assert seen.why == ()
    made = made_again(to_results(lifted.report), ["tube"])
    assert made.fits == {}
    assert made.why == {"tube": "it was made in memory, and has no file."}


def test_a_page_of_two_checks_measures_again_at_the_shapes_that_tell_most(
    lifted: CheckResult, still: CheckResult
) -> None:
    found = df.compare(lifted, still)
    pair = found.told.pairs[0]
    sides = measured_again(pair, found.checked, found.seen())
    labels = {row.label for row in sides.check.swept.rows}
    assert {one.shape for one in pair.losses} <= labels
    assert {one.method for one in sides.report.garments} == {"first", "second"}


def test_other_cloth_of_the_same_name_stands_on_the_page_under_a_name_of_its_own(lifted: CheckResult) -> None:
    """Else it would be drawn in the colours of the first, vertex by vertex."""
    finer = df.check(df.fit(BODY, phantom_tube(rings=12, sides=20)), shapes=FEW, causes=False)
    found = df.compare(lifted, finer, other_files=True)
    sides = measured_again(found.told.pairs[0], found.checked, found.seen())
    assert {one.name for one in sides.report.garments} == {"tube", "tube of second"}


def test_rows_that_one_side_lost_are_listed_by_garment(lifted: CheckResult) -> None:
    more = checked(df.Following(), shapes=2)
    pair = df.compare(more, lifted, names=("long", "short")).told.pairs[0]
    (lost,) = pair.unpaired
    assert (lost.garment, lost.both, lost.first, lost.second) == ("tube", pair.rows, ("sobol 1", "sobol 2"), ())
    shown = printed_text(lambda console: print_comparison(pair, console))
    assert "only long: sobol 1; sobol 2" in shown
    notes = measured_again(pair, *_seen(more, lifted)).check.notes
    assert any("2 rows beside the" in note for told in notes.values() for note in told)


def _seen(first: CheckResult, second: CheckResult) -> tuple:
    found = df.compare(first, second, names=("long", "short"))
    return found.checked, found.seen()


def test_a_garment_of_another_name_is_compared_where_it_is_paired(lifted: CheckResult, still: CheckResult) -> None:
    other = renamed(to_results(still.report), name="tube-fitted", content="1" * 64)
    with pytest.raises(MatchError, match="must have a garment on the same shape, got none"):
        df.compare(lifted, other)
    pair = df.compare(lifted, other, pairs={"tube": "tube-fitted"}).told.pairs[0]
    assert pair.paired == {"tube": "tube-fitted"}
    assert (pair.missing, pair.rows) == ({}, len(lifted.swept.rows))
    assert pair.losses
    for pairs, words in (({"tub": "tube-fitted"}, "got 'tub'. Write tube"), ({"tube": "hat"}, "got 'hat'")):
        with pytest.raises(ArgumentError, match=rf"compare: `pairs` must be of garments, .*{words}"):
            df.compare(lifted, other, pairs=pairs)


def test_a_fitted_file_is_paired_with_what_its_receipt_says_it_was_made_from(
    lifted: CheckResult, still: CheckResult, tmp_path: Path
) -> None:
    fitted = tmp_path / "tube-fitted.glb"
    files = {"fitted": {"sha256": "f" * 64}, "garment": {"sha256": "a" * 64}}
    receipt = {"schema": "dressform-receipt/1", "files": files}
    receipt_beside(fitted).write_text(json.dumps(receipt), encoding="utf-8")
    first = renamed(to_results(lifted.report), source=Source("tube.glb", "a" * 64))
    second = renamed(to_results(still.report), name="tube-fitted", source=Source(str(fitted), "f" * 64))
    assert pairs_by_receipt(first, second) == {"tube": "tube-fitted"}
    assert pairs_by_receipt(second, first) == {"tube-fitted": "tube"}
    assert df.compare(first, second).told.pairs[0].paired == {"tube": "tube-fitted"}
    newer = renamed(second, source=Source(str(fitted), "e" * 64))
    assert pairs_by_receipt(first, newer) == {}
    assert made_from(fitted, fitted_sha256="f" * 64) == "a" * 64
    receipt_beside(fitted).write_text("{", encoding="utf-8")
    assert made_from(fitted, fitted_sha256="f" * 64) is None


def test_limits_are_kept_in_the_comparison(lifted: CheckResult, still: CheckResult) -> None:
    pair = df.compare(lifted, still, tolerance=0.2, limits={"exposed": 1e6}).told.pairs[0]
    assert (pair.tolerance, pair.limits) == (0.2, {"exposed": 1e6})
    assert "exposed" not in {one.measure for one in pair.losses}
    assert pair.new == compare_results(to_results(lifted.report), to_results(still.report)).new
