"""A store says what it holds, gives back what is asked for, and exports a row for each fault."""

import csv
import sys
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from dressform.errors import FileError
from dressform.jobs.store.export import HEADINGS, export_store
from dressform.jobs.store.finished import FinishedStore, KeptWork
from dressform.jobs.store.listing import Pruning, listed, prune
from dressform.jobs.store.version import results_version
from gates import fault, line


@pytest.fixture
def store(tmp_path: Path) -> Iterator[FinishedStore]:
    with FinishedStore(tmp_path / "s.db") as opened:
        for number, (body, garment, version, made) in enumerate(
            (
                ("keeper", "oilskin", results_version(), "2026-11-30T10:00:00+00:00"),
                ("keeper", "guernsey", "older", "2026-11-30T10:00:00+00:00"),
                ("child", "oilskin", results_version(), "2020-01-01T10:00:00+00:00"),
            )
        ):
            faults = (fault(), fault("exposed", "grave", stance="kneel")) if garment == "oilskin" else ()
            lines = msgspec.json.encode((line(garment, *faults),))
            opened.put(KeptWork(bytes([number]) * 32, "check", garment, body, version, 60.0, lines, b"", made))
        yield opened


def test_the_list_tells_garments_age_and_what_is_outdated_by_body(store: FinishedStore) -> None:
    found = {one.body: one for one in listed(store).groups}
    assert (found["keeper"].garments, found["keeper"].entries, found["keeper"].outdated) == (2, 2, 1)
    assert found["keeper"].seconds == 120
    assert found["child"].first.startswith("2020")


@pytest.mark.parametrize(
    ("asked", "left"),
    [
        (Pruning(outdated=True), ["child", "keeper"]),
        (Pruning(older_than=365.0), ["keeper", "keeper"]),
        (Pruning(body="k*"), ["child"]),
        (Pruning(body="k*", garment="oil*"), ["child", "keeper"]),
        (Pruning(garment="*"), []),
    ],
)
def test_pruning_takes_out_what_meets_every_option(store: FinishedStore, asked: Pruning, left: list[str]) -> None:
    assert prune(store, asked, dry=True) == 3 - len(left)
    assert len(list(store.entries())) == 3
    assert prune(store, asked) == 3 - len(left)
    assert [one.body for one in store.entries()] == left


def test_the_export_has_a_row_for_each_fault_and_one_for_what_is_clean(store: FinishedStore, tmp_path: Path) -> None:
    assert export_store(store, tmp_path / "s.csv") == 5
    with (tmp_path / "s.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert tuple(rows[0]) == HEADINGS
    assert sorted((one["body"], one["garment"], one["fault"], one["stance"]) for one in rows) == [
        ("child", "oilskin", "exposed", "kneel"),
        ("child", "oilskin", "pucker", ""),
        ("keeper", "guernsey", "", ""),
        ("keeper", "oilskin", "exposed", "kneel"),
        ("keeper", "oilskin", "pucker", ""),
    ]


def test_no_cell_of_the_export_is_a_formula_to_a_spreadsheet(tmp_path: Path) -> None:
    with FinishedStore(tmp_path / "s.db") as opened:
        lines = msgspec.json.encode((line("=cmd|'/C calc'!A0", fault(value=-2.0)),))
        opened.put(KeptWork(bytes(32), "check", "+keeper", "g", results_version(), 1.0, lines, b""))
        assert export_store(opened, tmp_path / "s.csv") == 1
    (row,) = csv.DictReader((tmp_path / "s.csv").read_text(encoding="utf-8").splitlines())
    assert row["garment"] == "'=cmd|'/C calc'!A0"
    assert row["value"] == "-2.0"


def test_parquet_without_its_library_says_what_to_install(
    store: FinishedStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(FileError, match="pip install pyarrow"):
        export_store(store, tmp_path / "s.parquet")
    assert not (tmp_path / "s.parquet").exists()
