"""Finished work on garments in one SQLite file: a second run looks it up, an interrupted one goes on."""

import sqlite3
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from dressform.errors import FileError
from dressform.jobs.provenance import now
from dressform.sweep.store import DAMAGED, STORE_APPLICATION, STORE_TABLES, sealed, unsealed
from dressform.units import MS_PER_S

LAYOUT = 1
"""Version of the tables; a store of a later one is refused."""
PATIENCE = 60.0
"""Seconds that a run waits for another one that writes to the same store."""
SHRINKING = 0.5
"""Seconds that making the file smaller waits for those who read it."""
TRIES = 20

_TABLES = """
CREATE TABLE IF NOT EXISTS finished (
    key BLOB PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, body TEXT NOT NULL, version TEXT NOT NULL,
    made TEXT NOT NULL, seconds REAL NOT NULL, line BLOB NOT NULL, data BLOB NOT NULL
)
"""


@dataclass(frozen=True)
class KeptWork:
    """One piece of finished work.

    Attributes:
        key: SHA-256 of everything that it depends on.
        kind: What was done: `check`, `fit`, or another word of the job that keeps it.
        name: The garment.
        body: The body.
        version: Version of results that it was made by; see `results_version`.
        seconds: What the work took.
        line: What lists and exports tell of it, as JSON.
        data: All that was found, in the form of the job that keeps it; compressed by that job.
        made: When it was put there, ISO 8601; the store says.
    """

    key: bytes
    kind: str
    name: str
    body: str
    version: str
    seconds: float
    line: bytes
    data: bytes
    made: str = ""


class FinishedStore:
    """A store of finished work. Several runs may use one file at a time: what is put first stays.

    Args:
        path: The file; made where there is none. It may also hold rows of sweeps (`RowStore`).
        create: Whether it may be made; else one that is missing is an error.

    Raises:
        FileError: it cannot be opened, is no store, is damaged, or was made by a later version. Nothing is written to
            such a file. A damaged entry alone counts as missing.

    Proof: tests/jobs/store/test_finished.py
    """

    def __init__(self, path: Path, *, create: bool = True) -> None:
        self.path = path
        if not create and not path.is_file():
            raise FileError.of(path, "", "there is no such store", "Name one with --store")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._base = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
            self._refuse_other()
            self._make()
        except DAMAGED as error:
            raise self._problem(error) from error
        except OSError as error:
            raise FileError.of(path, "", f"cannot be made ({error.strerror})", "Name another place") from error

    def __enter__(self) -> "FinishedStore":
        return self

    def __exit__(self, *_: object) -> None:
        self._base.close()

    def get(self, key: bytes) -> KeptWork | None:
        """What is kept under a key; None where nothing is, or it is damaged."""
        with self._told():
            row = self._base.execute("SELECT * FROM finished WHERE key = ?", (key,)).fetchone()
        return None if row is None else _entry(row)

    def freeze(self) -> None:
        """From now on `get` answers by what is held now, whatever other runs take out; until the next change here."""
        with self._told():
            self._thaw()
            self._base.execute("BEGIN")
            self._base.execute("SELECT 1 FROM finished LIMIT 1").fetchall()  # reading is what begins it

    def _thaw(self) -> None:
        if self._base.in_transaction:
            self._base.execute("COMMIT")

    def put(self, entry: KeptWork) -> None:
        """Keep a piece of work. One that is there already stays as it is, unless it is damaged."""
        with self._told():
            self._thaw()
            known = self._base.execute("SELECT * FROM finished WHERE key = ?", (entry.key,)).fetchone()
            verb = "IGNORE" if known is None or _entry(known) is not None else "REPLACE"
            row = (
                entry.key, entry.kind, entry.name, entry.body, entry.version, entry.made or now(), entry.seconds,
                sealed(entry.line), sealed(entry.data),
            )  # fmt: skip
            self._base.execute(f"INSERT OR {verb} INTO finished VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)

    def entries(self, *, with_data: bool = False) -> Iterator[KeptWork]:
        """Every sound entry by kind, body, name and time, one at a time; without its data unless they are asked for."""
        data = "data" if with_data else "NULL"
        with self._told():
            self._thaw()
            found = self._base.execute(
                f"SELECT key, kind, name, body, version, made, seconds, line, {data} FROM finished "
                "ORDER BY kind, body, name, made, key"
            )
            for row in found:
                entry = _entry(row)
                if entry is not None:
                    yield entry

    def remove(self, keys: Sequence[bytes], *, shrink: bool = True) -> int:
        """Take entries out, and give their room back where the file is to shrink; how many there were."""
        with self._told():
            self._thaw()
            self._base.execute("BEGIN IMMEDIATE")
            gone = sum(self._base.execute("DELETE FROM finished WHERE key = ?", (key,)).rowcount for key in keys)
            self._base.execute("COMMIT")
            if gone and shrink:
                self._shrink()
        return gone

    def _shrink(self) -> None:
        """Give room back, unless another run is reading: then it is given back with the next removal."""
        self._base.execute(f"PRAGMA busy_timeout = {SHRINKING * MS_PER_S:.0f}")
        try:
            self._base.execute("VACUUM")
            self._base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        except sqlite3.OperationalError as error:
            if "locked" not in str(error):
                raise
        finally:
            self._base.execute(f"PRAGMA busy_timeout = {PATIENCE * MS_PER_S:.0f}")

    @property
    def size(self) -> int:
        """Bytes of the file and of what is not yet merged into it."""
        beside = (self.path, self.path.with_name(self.path.name + "-wal"))
        return sum(path.stat().st_size for path in beside if path.exists())

    def _refuse_other(self) -> None:
        """Refuse a database of somebody else's or of a later version, before anything is written into it."""
        tables = {str(name) for (name,) in self._base.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if tables - STORE_TABLES:
            raise sqlite3.DatabaseError(f"it holds {', '.join(sorted(tables))}")
        ((application,),) = self._base.execute("PRAGMA application_id")
        ((layout,),) = self._base.execute("PRAGMA user_version")
        if application not in (0, STORE_APPLICATION):
            raise sqlite3.DatabaseError("it is the file of another program")
        if layout > LAYOUT:
            raise sqlite3.DatabaseError(f"it was made by a later version, layout {layout}")

    def _make(self) -> None:
        """Make what is missing. Two runs may do so at once; SQLite lets one of them wait only for some of it."""
        for number in range(TRIES):
            try:
                self._base.execute("PRAGMA journal_mode=WAL")
                self._base.execute("PRAGMA synchronous=NORMAL")
                self._base.execute("BEGIN IMMEDIATE")
                self._base.execute(_TABLES)
                self._base.execute(f"PRAGMA application_id = {STORE_APPLICATION}")
                self._base.execute(f"PRAGMA user_version = {LAYOUT}")
                self._base.execute("COMMIT")
                return
            except sqlite3.OperationalError as error:
                with suppress(sqlite3.Error):
                    self._base.execute("ROLLBACK")
                if "locked" not in str(error) or number == TRIES - 1:
                    raise
                time.sleep(0.05 * (number + 1))

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except DAMAGED as error:
            raise self._problem(error) from error

    def _problem(self, error: Exception) -> FileError:
        if isinstance(error, sqlite3.OperationalError) and "locked" in str(error):
            problem = f"is being written by another run, for more than {PATIENCE:g} s"
            return FileError.of(self.path, "", problem, "Try again when that has ended, or name another with --store")
        advice = "It is left as it is: name another file with --store, or move this one away"
        return FileError.of(self.path, "", f"not a readable store ({error})", advice)


def _entry(row: tuple[object, ...]) -> KeptWork | None:
    key, kind, name, body, version, made, seconds, line, data = row
    try:
        told = unsealed(line), b"" if data is None else unsealed(data)
    except ValueError:
        return None
    assert isinstance(key, bytes)
    assert isinstance(seconds, float)
    return KeptWork(key, str(kind), str(name), str(body), str(version), seconds, *told, made=str(made))
