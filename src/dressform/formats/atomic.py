"""Writing a file so that it is whole or not there at all."""

import os
import tempfile
from contextlib import suppress
from pathlib import Path

from dressform.errors import FileError
from dressform.leftovers import HIDDEN, owned, sweep

READABLE = 0o644


def write_bytes(path: Path, data: bytes) -> None:
    """Write to a temporary name in the same folder, flush to disk, then rename over `path`.

    What a process that was killed meanwhile left there is swept up by the next write into the folder.

    Raises:
        FileError: the folder does not exist or cannot be written; nothing is left behind.
    """
    temporary = ""
    try:
        sweep(path.parent)
        handle, temporary = tempfile.mkstemp(prefix=owned(HIDDEN), suffix=".part", dir=path.parent)
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
