"""Where the files of a case are today: as given, beside the case, or anywhere near it by their content."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from dressform.errors import FileError
from dressform.formats.case_file import CaseFile
from dressform.formats.guards.file_names import path_of

MAX_HASHED = 400
"""So many files near a case are hashed in search of one by its content."""


@dataclass(frozen=True)
class FoundCaseFile:
    """A file of a case.

    Attributes:
        path: Where it is.
        same: Whether its content is what the case was saved with.
        moved: Whether it is elsewhere than the case says, and was known by its content.
    """

    path: Path
    same: bool
    moved: bool = False


def find_file(case: Path, wanted: CaseFile, what: str, *, given: Path | None = None) -> FoundCaseFile:
    """The file that a case names: the one given; else one of the same content; else one of the same name.

    It is looked for where the case says, beside the case, and below the folder that holds the case.

    Args:
        case: The case's own path.
        wanted: What the case says of the file.
        what: What it is, for messages: garment or body.
        given: A file to use whatever its content is.

    Raises:
        FileError: the file given is not there, or none was found.
    """
    if given is not None:
        return FoundCaseFile(given, sha256_of(given) == wanted.sha256)
    named = [path for path in _named(case, wanted) if path.is_file()]
    for path in named:
        if sha256_of(path) == wanted.sha256:
            return FoundCaseFile(path, True)
    for path in _near(case, path_of(wanted.file).suffix):
        if sha256_of(path) == wanted.sha256:
            return FoundCaseFile(path, True, moved=True)
    if named:
        return FoundCaseFile(named[0], False)
    advice = f"Put it beside the case, or name it with --{what}"
    raise FileError.of(case, what, f"there is no {wanted.file}, and no file near the case has its content", advice)


def sha256_of(path: Path) -> str:
    """Hash of a file's content.

    Raises:
        FileError: it cannot be read.
    """
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
    except OSError as problem:
        raise FileError.of(path, "", f"cannot be read ({problem.strerror})", "Check the path") from None
    return digest.hexdigest()


def _named(case: Path, wanted: CaseFile) -> Iterator[Path]:
    """Where a file of that name may be, the likeliest first."""
    yield case.parent / path_of(wanted.file)
    yield path_of(wanted.file)
    yield case.parent / path_of(wanted.file).name


def _near(case: Path, suffix: str) -> list[Path]:
    """Files of one kind below the folder of the case, the nearest first."""
    found = (path for path in case.parent.rglob(f"*{suffix}") if path.is_file())
    nearest = sorted(found, key=lambda path: (len(path.parts), str(path)))
    return nearest[:MAX_HASHED]
