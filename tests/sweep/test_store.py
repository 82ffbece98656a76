"""Rows come back as they were kept, hashes tell contents apart, and shared objects are shared."""

import errno
import os
import shutil
import sqlite3
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.faults.results import ShapeFaults
from dressform.sweep.store import RowStore, content_hash, open_shared, shared
from findings import faults, place
from lift_phantoms import body_of, sphere


def same(first: ShapeFaults, second: ShapeFaults) -> bool:
    """Equal in every field; arrays cannot be compared by ==."""
    no_weights = {"weights": np.zeros(0)}
    return bool(np.array_equal(first.weights, second.weights)) and repr(replace(first, **no_weights)) == repr(
        replace(second, **no_weights)
    )


def test_a_row_comes_back_as_it_was_kept(tmp_path: Path) -> None:
    row = faults(
        exposed=0.1 + 0.2, depth=float(np.nextafter(0.01, 1)), places=(place(), place("depth")), severity="grave"
    )
    with RowStore(tmp_path / "rows.db") as store:
        store.put(b"key", row, 0.25)
    with RowStore(tmp_path / "rows.db") as store:
        found = store.get(b"key")
        assert store.get(b"other") is None
    assert found is not None
    assert found[1] == 0.25
    assert same(found[0], row)


def test_numbers_that_no_text_holds_survive(tmp_path: Path) -> None:
    row = faults(exposed=float("inf"), weights=(np.pi, -0.0, 1e-300))
    with RowStore(tmp_path / "rows.db") as store:
        store.put(b"key", row, 0.0)
        found = store.get(b"key")
    assert found is not None
    assert same(found[0], row)


def test_a_row_that_is_put_again_is_replaced(tmp_path: Path) -> None:
    with RowStore(tmp_path / "rows.db") as store:
        store.put(b"key", faults(exposed=1e-4), 1.0)
        store.put(b"key", faults(exposed=2e-4), 2.0)
        found = store.get(b"key")
    assert found is not None
    assert found[0].show_through.exposed_area == 2e-4


def test_a_file_that_is_no_store_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("the lamp was lit at dusk\n" * 40)
    with pytest.raises(FileError, match=r"notes.txt: not a readable store of sweep rows"):
        RowStore(path)
    assert path.read_text().startswith("the lamp was lit at dusk")


@pytest.mark.parametrize("at", range(0, 400, 7))
def test_a_damaged_row_is_none_rather_than_another_result(at: int, tmp_path: Path) -> None:
    with RowStore(tmp_path / "rows.db") as store:
        store.put(b"key", faults(), 1.0)
        ((blob,),) = store._base.execute("SELECT faults FROM rows")
        damaged = bytearray(blob)
        damaged[at % len(damaged)] ^= 1
        store._base.execute("UPDATE rows SET faults = ?", (bytes(damaged),))
        assert store.get(b"key") is None
        store.put(b"key", faults(), 1.0)
        assert store.get(b"key") is not None


@pytest.mark.parametrize("blob", [b"", b"\xc1", "text", None])
def test_what_is_no_row_at_all_is_none(blob: object, tmp_path: Path) -> None:
    with RowStore(tmp_path / "rows.db") as store:
        store.put(b"key", faults(), 1.0)
        store._base.execute("UPDATE rows SET faults = ?", (blob,))
        assert store.get(b"key") is None


def test_a_database_of_somebody_else_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "lamps.db"
    with sqlite3.connect(path) as base:
        base.execute("CREATE TABLE lamps (lit TEXT)")
    base.close()
    before = path.read_bytes()
    with pytest.raises(FileError, match=r"not a readable store of sweep rows \(it holds lamps\)"):
        RowStore(path)
    assert path.read_bytes() == before


def test_a_store_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no folder"):
        RowStore(tmp_path / "no folder" / "rows.db")


def test_equal_contents_have_equal_hashes_however_they_lie_in_memory() -> None:
    grid = np.arange(12.0).reshape(3, 4)
    assert content_hash(grid) == content_hash(np.asfortranarray(grid)) == content_hash(np.hstack([grid, grid])[:, :4])
    assert content_hash({"a": 1, "b": 2}) == content_hash({"b": 2, "a": 1})
    assert content_hash(np.float64(0.5)) == content_hash(0.5)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (("ab", "c"), ("a", "bc")),
        ((1,), (1.0,)),
        ((("a",), "b"), ("a", ("b",))),
        (({"a": 1},), ({"a": 2},)),
        ((np.zeros(2),), (np.zeros((2, 1)),)),
        ((np.zeros(2),), (np.zeros(2, dtype=np.float32),)),
        ((None,), ("None",)),
        ((True,), (1,)),
    ],
)
def test_different_contents_have_different_hashes(first: tuple[object, ...], second: tuple[object, ...]) -> None:
    assert content_hash(*first) != content_hash(*second)


def test_every_vertex_and_delta_of_a_body_counts_in_its_hash() -> None:
    body = body_of(sphere(0.1), grow=0.1 * sphere(0.1)[0])
    moved, changed = body.vertices.copy(), body.deltas.copy()
    moved[-1, 2] = np.nextafter(moved[-1, 2], 1)
    changed[0, 0, 0] += 1e-9
    hashes = {content_hash(b) for b in (body, replace(body, vertices=moved), replace(body, deltas=changed))}
    assert len(hashes) == 3
    assert content_hash(replace(body, vertices=body.vertices.copy())) in hashes


def test_something_without_a_rule_has_no_hash() -> None:
    with pytest.raises(TypeError, match="no rule for a set"):
        content_hash({1, 2})


def test_a_shared_body_is_the_body_and_writing_into_it_reaches_nobody() -> None:
    body = body_of(sphere(0.1), grow=0.1 * sphere(0.1)[0])
    with shared({"body": body, "free": body.vertices.copy(), "empty": np.zeros((0, 4, 3))}) as path:
        first, second = open_shared(path), open_shared(path)
        assert content_hash(first["body"]) == content_hash(body)
        assert not first["body"].vertices.flags.writeable
        first["free"][:] = 7.0
        assert np.array_equal(second["free"], body.vertices)
        assert np.array_equal(open_shared(path)["free"], body.vertices)
        assert first["empty"].shape == (0, 4, 3)


def test_shared_arrays_are_pages_of_the_file_and_aligned() -> None:
    with shared([np.arange(100_000.0), np.arange(3, dtype=np.int8), np.arange(10.0)]) as path:
        arrays = open_shared(path)
        assert not any(array.flags.owndata for array in arrays)
        assert all(array.ctypes.data % 64 == 0 for array in arrays)
        assert path.stat().st_size < 100_000 * 8 + 2000


def test_the_shared_file_is_gone_afterwards() -> None:
    with shared("word") as path:
        assert open_shared(path) == "word"
    assert not os.path.exists(path)
    assert not os.path.exists(path.parent)


@pytest.mark.parametrize("count", range(20))
def test_however_many_arrays_are_shared_each_comes_back_as_it_was(count: int) -> None:
    arrays = [np.arange(1.0 + number) for number in range(count)]
    with shared(arrays) as path:
        found = open_shared(path)
        assert [each.tolist() for each in found] == [each.tolist() for each in arrays]


def test_a_shared_folder_that_cannot_be_removed_is_left_without_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """Elsewhere a process may still hold the file; the next sweep clears away what was left."""
    with shared("word") as path, monkeypatch.context() as patch:
        patch.setattr(os, "rmdir", _is_busy)
        patch.setattr(os, "unlink", _is_busy)
        with shared("another") as held:
            pass
    assert held.exists()
    assert not path.exists()
    shutil.rmtree(held.parent)


def _is_busy(*_: object, **__: object) -> None:
    raise OSError(errno.EBUSY, "busy")


def test_a_store_whose_damage_cannot_even_be_put_into_words_is_refused(tmp_path: Path) -> None:
    """sqlite names a damaged table in its message, in bytes that need not be text."""
    path = tmp_path / "rows.db"
    with RowStore(path) as store:
        store.put(b"key", faults(), 1.0)
    path.write_bytes(path.read_bytes().replace(b"CREATE TABLE rows", b"CREATE T\x9bBLE rows"))
    with pytest.raises(FileError, match="not a readable store of sweep rows"):
        RowStore(path)
