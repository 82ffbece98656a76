"""Writing a file so that it is whole or not there at all."""

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from dressform.errors import FileError

READABLE = 0o644


def write_bytes(path: Path, data: bytes) -> None:
    """Write to a temporary name in the same folder, flush to disk, then rename over `path`.

    Raises:
        FileError: the folder does not exist or cannot be written; nothing is left behind.
    """
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, READABLE & ~_umask())
        os.replace(temporary, path)
        temporary = ""
    except OSError as problem:
        advice = "Name a file in a folder that exists and can be written"
        raise FileError.of(path, "", f"cannot be written ({problem.strerror})", advice) from problem
    finally:
        if temporary:
            with suppress(OSError):
                os.unlink(temporary)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
