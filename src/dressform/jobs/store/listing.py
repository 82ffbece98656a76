"""What a store holds, and taking out of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from fnmatch import fnmatchcase

from dressform.jobs.store.finished import FinishedStore, KeptWork
from dressform.jobs.store.version import results_version


@dataclass(frozen=True)
class StoreGroup:
    """What a store holds of one kind of work on one body.

    Attributes:
        kind: What was done.
        body: Name of the body.
        garments: Different names of garments.
        entries: Pieces of work.
        outdated: Of these, those that another version of the program has found.
        seconds: What they took.
        first: When the first was put there, ISO 8601.
        last: When the last was.
    """

    kind: str
    body: str
    garments: int
    entries: int
    outdated: int
    seconds: float
    first: str
    last: str


@dataclass(frozen=True)
class StoreList:
    """What a store holds.

    Attributes:
        path: Its file.
        size: Bytes.
        groups: By kind and body.
    """

    path: str
    size: int
    groups: tuple[StoreGroup, ...]


def listed(store: FinishedStore) -> StoreList:
    """What a store holds, by kind and body.

    Proof: tests/jobs/store/test_listing.py
    """
    groups: dict[tuple[str, str], list[KeptWork]] = {}
    for one in store.entries():
        groups.setdefault((one.kind, one.body), []).append(one)
    return StoreList(str(store.path), store.size, tuple(_group(*key, found) for key, found in groups.items()))


@dataclass(frozen=True)
class Pruning:
    """What to take out: what meets all of these that are given.

    Attributes:
        older_than: Days.
        outdated: Whether it must be of another version of the program.
        body: Pattern of the body's name.
        garment: Pattern of the garment's name.
    """

    older_than: float | None = None
    outdated: bool = False
    body: str | None = None
    garment: str | None = None

    @property
    def is_any(self) -> bool:
        """Whether anything was asked for."""
        return self.outdated or any(one is not None for one in (self.older_than, self.body, self.garment))

    def meets(self, one: KeptWork, now: datetime) -> bool:
        """Whether a piece of work is to go."""
        old = self.older_than is None or datetime.fromisoformat(one.made) < now - timedelta(days=self.older_than)
        return (
            old
            and (not self.outdated or one.version != results_version())
            and (self.body is None or fnmatchcase(one.body, self.body))
            and (self.garment is None or fnmatchcase(one.name, self.garment))
        )


def prune(store: FinishedStore, asked: Pruning, *, dry: bool = False) -> int:
    """Take out what is asked for; how much that was, or would be.

    Proof: tests/jobs/store/test_listing.py
    """
    keys = list(_keys(store, asked))
    return len(keys) if dry else store.remove(keys)


def _keys(store: FinishedStore, asked: Pruning) -> Iterator[bytes]:
    now = datetime.now(UTC)
    return (one.key for one in store.entries() if asked.meets(one, now))


def _group(kind: str, body: str, found: list[KeptWork]) -> StoreGroup:
    made = sorted(one.made for one in found)
    return StoreGroup(
        kind,
        body,
        len({one.name for one in found}),
        len(found),
        sum(one.version != results_version() for one in found),
        sum(one.seconds for one in found),
        made[0],
        made[-1],
    )
