"""One garment of a wardrobe as a task: what any process needs to work on it, and what it finds."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from dressform.faults.results import ShapeFaults
from dressform.formats.results.failed import FailedGarment
from dressform.garment.following import Following
from dressform.jobs.wardrobe.files import written_out

Rows = Mapping[bytes, tuple[ShapeFaults, float]]
"""Rows of a sweep by their hash, each with the seconds that it took."""


@dataclass(frozen=True)
class GarmentTask:
    """A garment to work on.

    Attributes:
        garment: Its name.
        told: Its file, as it was asked for.
        path: The same, absolute.
        following: How it is to follow, as far as that was said.
        key: Hash of everything that its results depend on.
        contents: Its files, where a process may not see them; see `contents_of`.
        part: Of its shapes, the one of `of` shares that is to be measured.
        of: Shares; 1 where one process does all of it.
        rows: What others have measured of it.
    """

    garment: str
    told: str
    path: str
    following: Following
    key: bytes
    contents: Mapping[str, bytes] = field(default_factory=dict)
    part: int = 0
    of: int = 1
    rows: Rows = field(default_factory=dict)

    @property
    def name(self) -> str:
        """Tells it from all other tasks."""
        share = f" {self.part + 1}/{self.of}" if self.of > 1 else ""
        return f"{self.garment} {self.key.hex()}{share}{' end' if self.rows else ''}"

    @contextmanager
    def opened(self) -> Iterator[Path]:
        """A path at which its file lies while the context lasts."""
        if self.contents:
            with written_out(Path(self.path).name, self.contents) as path:
                yield path
        else:
            yield Path(self.path)


@dataclass(frozen=True)
class GarmentDone:
    """What became of a garment.

    Attributes:
        task: The task.
        line: What lists tell, as JSON; empty where it failed.
        data: All that was found, as the job keeps it.
        failed: What could not be done with it, and why.
        seconds: What that took.
        peak_mb: Most memory that the process had, so far, MB; 0 where the system does not say.
    """

    task: GarmentTask
    line: bytes
    data: bytes
    failed: tuple[FailedGarment, ...]
    seconds: float
    peak_mb: float


@dataclass(frozen=True)
class ShareDone:
    """A share of the shapes of a garment was measured."""

    task: GarmentTask
    rows: Rows
    seconds: float
    failed: tuple[FailedGarment, ...] = ()
