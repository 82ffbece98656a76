"""Finished work of a triage, kept as small files that appear whole or not at all."""

from pathlib import Path
from typing import TypeVar

import msgspec

from dressform.errors import FileError
from dressform.formats.atomic import write_bytes
from dressform.formats.guards.limits import read_bytes

KEPT = "kept"
MAX_BYTES = 64 * 1024**2
Kind = TypeVar("Kind", bound=msgspec.Struct)


class Kept:
    """A folder of finished work, each file named by a hash of everything that it depends on.

    What was made from other files, settings or versions has another name, and is never read.

    Args:
        folder: The folder; it is made when first written to.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def get(self, key: str, kind: type[Kind]) -> Kind | None:
        """What is kept under a key; None where nothing is, or it is damaged."""
        path = self._folder / f"{key}.msgpack"
        if not path.is_file():
            return None
        try:
            return msgspec.msgpack.decode(read_bytes(path, most=MAX_BYTES), type=kind)
        except (msgspec.MsgspecError, FileError):
            return None

    def put(self, key: str, record: msgspec.Struct) -> None:
        """Keep a record.

        Raises:
            FileError: the folder cannot be written.
        """
        self._folder.mkdir(parents=True, exist_ok=True)
        write_bytes(self._folder / f"{key}.msgpack", msgspec.msgpack.encode(record))
