"""What a command will write, checked before any work: no input, of the right kind, in a place that can be written."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyReading
from dressform.cli.crash import set_log
from dressform.errors import DressformError, FileError
from dressform.formats.guards.inputs import ELSEWHERE, identity_of
from dressform.formats.out_folder import refuse_unwritable

HEAD_BYTES = 4096
"""So much of an existing file tells what it is."""
MORPHS, RANGE = "morphs", ".range.toml"
"""What lies beside a body without being named."""


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
JSON = OutputKind((".json",), (b'"dressform-',))
CASE = OutputKind((".case.json",), (b'"dressform-case/',))
PNG = OutputKind((".png",), (b"\x89png\r\n\x1a\n",))
HTML = OutputKind((".html", ".htm"), (b"<!doctype html>", b"dressform"))
TOML = OutputKind((".toml",), (b'"dressform-following/',))
STORE = OutputKind((), (b"sqlite format 3\x00",))
LOG = OutputKind((), (b"dressform",))


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
    wanted = [(path, kind) for path, kind in (*files, (how.log, LOG)) if path is not None]
    for path, kind in wanted:
        if kind.suffixes and not path.name.lower().endswith(kind.suffixes):
            ending = kind.suffixes[0]
            raise FileError.of(
                path, "", f"does not end with {ending}", f"Name the file to write with the ending {ending}"
            )
        refuse_unwritable(path, is_folder=False)
    for folder in filter(None, folders):
        refuse_unwritable(folder, is_folder=True)
    read = {identity_of(path): path for path in _with_neighbours(inputs, reading or BodyReading())}
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


def _with_neighbours(inputs: Iterable[Path | None], reading: BodyReading) -> Iterator[Path]:
    """Inputs, and what is read because it lies beside one or is named in it."""
    for path in filter(None, (*inputs, reading.range_)):
        yield path
        yield path.with_name(path.stem + RANGE)
        yield from _inside(path.with_name(MORPHS))
        if path.suffix.lower() == ".gltf":
            yield from _named_in(path)
    if reading.morphs is not None:
        yield from _inside(reading.morphs)


def _inside(folder: Path) -> Iterator[Path]:
    with suppress(OSError):
        yield from folder.iterdir()


def _named_in(path: Path) -> Iterator[Path]:
    """Files that a glTF refers to; a damaged one is told of when it is read."""
    from dressform.formats.gltf.document import read_document  # noqa: PLC0415  # not for a command's help
    from dressform.formats.gltf.uris import beside, is_data  # noqa: PLC0415

    with suppress(DressformError):
        tree = read_document(path).json
        for entry in (*tree.get("buffers", ()), *tree.get("images", ())):
            uri = entry.get("uri", "")
            if uri and not is_data(uri):
                yield beside(path, uri, "")


def _head(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(HEAD_BYTES)
    except OSError as problem:
        raise FileError.of(path, "", f"cannot be read ({problem.strerror})", "Name another file") from None
