"""The store keeps what is put first, tells what it cannot read, and loses nothing when two runs share it."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from dressform.errors import FileError
from dressform.jobs.store.finished import FinishedStore, KeptWork
from dressform.sweep.store import RowStore


def work(number: int, *, data: bytes = b"data") -> KeptWork:
    return KeptWork(bytes([number]) * 32, "check", f"g{number}", "keeper", "v1", 1.5, b"[]", data)


def test_what_is_put_comes_back_and_the_first_stays(tmp_path: Path) -> None:
    with FinishedStore(tmp_path / "s.db") as store:
        store.put(work(1))
        store.put(work(1, data=b"other"))
        found = store.get(work(1).key)
        assert found is not None
        assert (found.data, found.name, found.seconds) == (b"data", "g1", 1.5)
        assert store.get(work(2).key) is None
    with FinishedStore(tmp_path / "s.db") as store:
        assert [one.name for one in store.entries()] == ["g1"]


def test_a_damaged_entry_counts_as_missing_and_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / "s.db"
    with FinishedStore(path) as store:
        store.put(work(1))
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("UPDATE finished SET data = X'0102030405'")
    with FinishedStore(path) as store:
        assert store.get(work(1).key) is None
        store.put(work(1, data=b"again"))
        found = store.get(work(1).key)
        assert found is not None
        assert found.data == b"again"


def test_a_file_of_another_program_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    for name, statement in (
        ("other.db", "CREATE TABLE ledger (id)"),
        ("marked.db", "PRAGMA application_id = 7"),
        ("later.db", "PRAGMA user_version = 99"),
    ):
        path = tmp_path / name
        with closing(sqlite3.connect(path)) as base, base:
            base.execute(statement)
        before = path.read_bytes()
        with pytest.raises(FileError, match="not a readable store"):
            FinishedStore(path)
        assert path.read_bytes() == before
    text = tmp_path / "text.db"
    text.write_text("a list of hats\n" * 90)
    with pytest.raises(FileError, match="not a readable store"):
        FinishedStore(text)
    assert text.read_text() == "a list of hats\n" * 90


def test_a_truncated_store_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "s.db"
    with FinishedStore(path) as store:
        for number in range(50):
            store.put(work(number, data=b"x" * 5000))
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(FileError, match="left as it is"), FinishedStore(path) as store:
        list(store.entries(with_data=True))
    assert path.read_bytes() == whole[: len(whole) // 2]


def test_one_file_holds_finished_work_and_rows_of_sweeps(tmp_path: Path) -> None:
    path = tmp_path / "s.db"
    with RowStore(path) as rows, FinishedStore(path) as store:
        store.put(work(1))
        assert rows.get(b"nothing") is None
    with RowStore(path), FinishedStore(path) as store:
        assert store.get(work(1).key) is not None


WRITER = """
import sys
from pathlib import Path
from dressform.jobs.store.finished import FinishedStore, KeptWork
with FinishedStore(Path(sys.argv[1])) as store:
    for number in range(200):
        key = number.to_bytes(32, "big")
        store.put(KeptWork(key, "check", f"g{number}", "keeper", "v1", 1.0, b"[]", sys.argv[2].encode()))
"""


def test_two_runs_that_share_a_store_lose_nothing_and_keep_nothing_twice(tmp_path: Path) -> None:
    path = tmp_path / "s.db"
    both = [subprocess.Popen([sys.executable, "-c", WRITER, str(path), name]) for name in ("one", "two")]
    assert [one.wait(120) for one in both] == [0, 0]
    with FinishedStore(path) as store:
        found = list(store.entries(with_data=True))
    assert len(found) == 200
    assert {one.data for one in found} <= {b"one", b"two"}


def test_a_store_that_another_run_writes_to_for_too_long_is_told_as_that(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dressform.jobs.store.finished.PATIENCE", 0.05)
    with FinishedStore(tmp_path / "s.db") as store:
        other = sqlite3.connect(tmp_path / "s.db", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(FileError, match=r"s\.db: is being written by another run.*Try again when that has ended"):
            store.put(work(1))
        other.close()
        store.put(work(1))
        assert len(list(store.entries())) == 1


def test_a_frozen_store_answers_by_what_it_held_until_it_is_changed(tmp_path: Path) -> None:
    with FinishedStore(tmp_path / "s.db") as store, FinishedStore(tmp_path / "s.db") as other:
        store.put(work(1))
        store.freeze()
        assert other.remove([work(1).key]) == 1
        assert other.get(work(1).key) is None
        assert store.get(work(1).key) is not None
        store.put(work(2))
        assert store.get(work(1).key) is None


def test_entries_are_removed_and_the_file_shrinks(tmp_path: Path) -> None:
    with FinishedStore(tmp_path / "s.db") as store:
        for number in range(100):
            store.put(work(number, data=b"x" * 20000))
        before = store.size
        assert store.remove([work(number).key for number in range(100)]) == 100
        assert list(store.entries()) == []
        assert store.size < before / 10


def test_a_store_that_must_be_there_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such store"):
        FinishedStore(tmp_path / "none.db", create=False)
    assert not (tmp_path / "none.db").exists()
