"""`-` for a file to read: what comes through standard input."""

import sys
import tempfile
from pathlib import Path

from dressform.cli.outputs import STANDARD
from dressform.errors import FileError
from dressform.formats.guards.limits import memory_limit
from dressform.leftovers import PLAIN, owned, sweep

NAME = "stdin"
"""What the body or the garment is called that comes this way."""
_ENDINGS = (
    (b"glTF", ".glb"), (b"ply", ".ply"), (b"{", ".gltf"), (b"<", ".dae"),
    (b"#usda", ".usda"), (b"PXR-USDC", ".usdc"), (b"PK\x03\x04", ".usdz"),
)  # fmt: skip
"""How a file of each kind begins; any other is an OBJ."""
_kept: list[tempfile.TemporaryDirectory[str]] = []


def forget_standard_input() -> None:
    """Let the next command read standard input."""
    while _kept:
        _kept.pop().cleanup()


def given(path: Path) -> Path:
    """The path itself; for `-` a temporary file of what standard input holds, its ending by how it begins.

    Raises:
        FileError: standard input holds nothing, more than the memory that reading may take, or was read already.
    """
    if path != STANDARD:
        return path
    if _kept:
        raise FileError.of(STANDARD, "", "is named for two files", "Read one from standard input")
    data = sys.stdin.buffer.read(memory_limit() + 1)
    if not data:
        raise FileError.of(STANDARD, "", "holds nothing", "Pipe a file into the program, or name one")
    if len(data) > memory_limit():
        raise FileError.of(STANDARD, "", "is larger than reading may take", "Allow more with --memory")
    sweep(Path(tempfile.gettempdir()))
    _kept.append(tempfile.TemporaryDirectory(prefix=owned(PLAIN)))
    ending = next((ending for start, ending in _ENDINGS if data.lstrip().startswith(start)), ".obj")
    file = Path(_kept[-1].name) / f"{NAME}{ending}"
    file.write_bytes(data)
    return file
