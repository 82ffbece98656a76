"""What a command will write, checked before any work: no input, of the right kind, in a place that can be written."""

import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from cyclopts import Parameter

from dressform.cli.arguments import BodyReading
from dressform.cli.crash import set_log
from dressform.errors import FileError
from dressform.formats.atomic import write_bytes
from dressform.formats.guards.inputs import ELSEWHERE, identity_of
from dressform.formats.guards.neighbours import with_neighbours
from dressform.formats.out_folder import refuse_unwritable

STANDARD = Path("-")
"""Standard output, where a file to write is asked for; standard input, where one is read."""
HEAD_BYTES = 4096
"""So much of an existing file tells what it is."""


@dataclass(frozen=True)
class OutputKind:
    """A kind of file that commands write.

    Attributes:
        suffixes: Endings of its name; none where any will do.
        marks: What stands in the head of every such file; lower case.
    """

    suffixes: tuple[str, ...]
    marks: tuple[bytes, ...]

    def is_kind(self, head: bytes) -> bool:
        """Whether the first bytes of a file are those of this kind."""
        return not head or all(mark in head.lower() for mark in self.marks)


GLB = OutputKind((".glb",), (b"gltf\x02\x00\x00\x00",))
USD = tuple(
    OutputKind((ending,), (mark,))
    for ending, mark in ((".usda", b"#usda"), (".usdc", b"pxr-usdc"), (".usd", b"pxr-usdc"), (".usdz", b"pk\x03\x04"))
)
JSON = OutputKind((".json",), (b'"dressform-',))
CASE = OutputKind((".case.json",), (b'"dressform-case/',))
PNG = OutputKind((".png",), (b"\x89png\r\n\x1a\n",))
HTML = OutputKind((".html", ".htm"), (b"<!doctype html>", b"dressform"))
TOML = OutputKind((".toml",), (b'"dressform-following/',))
JUNIT = OutputKind((".xml",), (b"<testsuites",))
SARIF = OutputKind((".sarif", ".json"), (b"sarif", b"2.1.0"))
MARKDOWN = OutputKind((".md",), (b"## dressform:",))
ANY_CSV = OutputKind((".csv",), (b"body,garment,method",))
PARQUET = OutputKind((".parquet",), (b"par1",))
STORE = OutputKind((), (b"sqlite format 3\x00",))
LOG = OutputKind((), (b"dressform",))
_stdout_taken = False


@Parameter(name="*")
@dataclass(frozen=True)
class WritingOptions:
    """How files are written, and where the program writes should it fail."""

    overwrite: Annotated[
        bool, Parameter(help="Replace a file even if it is of another kind; an input never.", negative="")
    ] = False
    log: Annotated[
        Path | None, Parameter(help="Where the details go should the program itself fail; else the state folder.")
    ] = None


def fitted_kind(path: Path) -> OutputKind:
    """The kind of a fitted garment's file, by its ending: GLB unless it is one of USD."""
    return next((kind for kind in USD if path.name.lower().endswith(kind.suffixes)), GLB)


def check_outputs(
    inputs: Iterable[Path | None],
    files: Sequence[tuple[Path | None, OutputKind]],
    folders: Sequence[Path | None] = (),
    *,
    reading: BodyReading | None = None,
    writing: WritingOptions | None = None,
) -> None:
    """Refuse outputs that would cost somebody a file, or could not be written.

    Args:
        inputs: Files that the command will read; what lies beside a body or a glTF is found here.
        files: Files that it will write, and of which kind; None where one was not asked for.
        folders: Folders that it will fill.
        reading: Options that name further inputs.
        writing: Options.

    Raises:
        FileError: an output is an input by name, by link or by inode; has another suffix than its kind; exists and is
            of another kind without `--overwrite`; or cannot be written there.
    """
    how = writing or WritingOptions()
    taken = [path for path, _ in files if path == STANDARD]
    if len(taken) > 1:
        raise FileError.of(STANDARD, "", "is named for two files", "Write one to standard output")
    take_stdout(taken=bool(taken))
    wanted = [(path, kind) for path, kind in (*files, (how.log, LOG)) if path is not None and path != STANDARD]
    for path, kind in wanted:
        if kind.suffixes and not path.name.lower().endswith(kind.suffixes):
            ending = kind.suffixes[0]
            raise FileError.of(
                path, "", f"does not end with {ending}", f"Name the file to write with the ending {ending}"
            )
        refuse_unwritable(path, is_folder=False)
    for folder in filter(None, folders):
        refuse_unwritable(folder, is_folder=True)
    how_read = reading or BodyReading()
    named = with_neighbours(inputs, morphs=how_read.morphs, range_file=how_read.range_)
    read = {identity_of(path): path for path in named}
    for path, kind in wanted:
        found = identity_of(path)
        if found is None:
            continue
        if found in read:
            raise FileError.of(path, "", f"is an input ({read[found]})", ELSEWHERE)
        if not how.overwrite and not kind.is_kind(_head(path)):
            problem = "exists and holds something else than what is written here"
            raise FileError.of(path, "", problem, "Name another file, or say --overwrite")
    set_log(how.log)


def write_file(path: Path | None, text: str) -> None:
    """Write a file that was asked for, or standard output for `-`."""
    if path == STANDARD:
        sys.stdout.write(text)
    elif path is not None:
        write_bytes(path, text.encode())


def wrote(*paths: Path | None) -> Iterator[str]:
    """The lines that say what was written: nothing of what was not asked for, nor of standard output."""
    for path in paths:
        if path is not None and path != STANDARD:
            yield f"wrote {path}"


def stdout_is_file() -> bool:
    """Whether standard output carries a file, so that what is told goes to stderr."""
    return _stdout_taken


def results_stream() -> Any:
    """Where results are told."""
    return sys.stderr if _stdout_taken else sys.stdout


def take_stdout(*, taken: bool) -> None:
    """Say whether standard output carries a file."""
    global _stdout_taken
    _stdout_taken = taken


def _head(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(HEAD_BYTES)
    except OSError as problem:
        raise FileError.of(path, "", f"cannot be read ({problem.strerror})", "Name another file") from None
