"""The files that fits were read from, which nothing that is written from them may replace."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from dressform.errors import FileError
from dressform.fit.fit import Fit
from dressform.formats.guards.inputs import ELSEWHERE, identity_of
from dressform.formats.guards.neighbours import with_neighbours
from dressform.formats.load import BodyFile, GarmentFile


def refuse_sources(paths: Iterable[Path], fits: Iterable[Fit]) -> None:
    """Refuse to write over a file that one of the fits was read from: its body's, its garment's, or one beside them.

    Args:
        paths: What is about to be written.
        fits: What it is written from; one that was made in memory has no file.

    Raises:
        FileError: a path leads to such a file, by its name, by a link or by another name of it.

    Proof: tests/jobs/test_kept_inputs.py
    """
    read = {identity_of(path): path for path in _files_of(fits)}
    for path in paths:
        found = identity_of(path)
        if found is not None and found in read:
            raise FileError.of(path, "", f"is an input ({read[found]})", ELSEWHERE)


def _files_of(fits: Iterable[Fit]) -> Iterator[Path]:
    """Every file that the fits were read from, each once for each fit."""
    for fit in fits:
        body, garment = fit.body.source, fit.garment.source
        if isinstance(body, BodyFile):
            options = body.options
            yield from with_neighbours([body.path], morphs=options.morphs_dir, range_file=options.range_file)
        if isinstance(garment, GarmentFile):
            yield from with_neighbours([garment.path])
