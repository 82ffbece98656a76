"""What the page is told first, where it is more than what the report says."""

from dataclasses import replace
from pathlib import Path

import pytest

from dressform.formats.results.failed import FailedGarment
from dressform.report.page.data import CAUTIONS
from dressform.web.about import MAX_WORN, Findings, found_report, live_about
from dressform.web.following import Following
from dressform.web.session import Opened, Session
from livepage import opened


@pytest.fixture(scope="module")
def start(tmp_path_factory: pytest.TempPathFactory) -> Opened:
    return opened(tmp_path_factory.mktemp("about"))


def wardrobe(start: Opened, count: int) -> Session:
    """A run of so many garments, which differ by their names."""
    names = [f"tube {number}" for number in range(count)]
    file = start.garments[0]
    garments = tuple(replace(file, garment=replace(file.garment, name=name)) for name in names)
    sources = {"": start.sources[""], **dict.fromkeys(names, start.sources["tube"])}
    return Session(replace(start, garments=garments, sources=sources, following=dict.fromkeys(names, Following())))


def test_before_any_check_there_are_no_verdicts_and_the_cautions_stand(start: Opened):
    told = live_about(Session(start), None, "none")
    assert [(one.severity, one.verdict) for one in told.garments] == [("", "not checked yet")]
    assert told.clusters == told.shapes == ()
    assert told.charts == {}
    assert told.cautions == CAUTIONS
    assert told.check.state == "none"


def test_garment_that_could_not_be_read_is_named_without_its_folder(start: Opened):
    file = "/srv/keepers/torn.glb"
    torn = FailedGarment(name="torn", file=file, stage="read", reason=f"{file}: ends early.")
    (told,) = live_about(Session(replace(start, failed=(torn,))), None, "none").failed
    assert (told.name, told.file, told.reason) == ("torn", "torn.glb", "torn.glb: ends early.")


def test_what_a_start_allows_depends_on_what_it_was_given(start: Opened, tmp_path: Path):
    given = replace(start, settings_file=tmp_path / "f.toml", out=tmp_path / "o", cases=tmp_path / "c")
    more = set(live_about(Session(given), None, "none").can) - set(live_about(Session(start), None, "none").can)
    assert more == {"save", "export", "case"}


def test_a_few_garments_are_worn_together_and_of_a_whole_wardrobe_only_the_first(start: Opened):
    few = live_about(wardrobe(start, MAX_WORN), None, "none").garments
    many = live_about(wardrobe(start, MAX_WORN + 1), None, "none").garments
    assert [one.worn for one in few] == [True] * MAX_WORN
    assert [one.worn for one in many] == [True] + [False] * MAX_WORN


def test_ways_and_repairs_of_a_garment_are_its_variants_and_not_worn(start: Opened):
    run = Session(replace(start, methods=("smooth", "nearest"), repaired=True))
    told = live_about(run, None, "none").garments
    assert [(one.key, one.variant_of, one.worn) for one in told] == [
        ("tube smooth", "", True),
        ("tube smooth repaired", "tube smooth", False),
        ("tube nearest", "tube smooth", False),
        ("tube nearest repaired", "tube smooth", False),
    ]


def test_nothing_found_makes_an_empty_report(start: Opened):
    assert found_report(Session(start), None).garments == ()
    assert found_report(Session(start), Findings("now", 1, {})).body.name == "man"
