"""What a file may ask for. Refused before anything is allocated, so that no file can exhaust the memory."""

from pathlib import Path

from dressform.errors import FileError

MAX_FILE_BYTES = 2 * 1024**3
MAX_TEXT_BYTES = 256 * 1024**2  # text takes some twenty times its size while it is parsed
MAX_DECODED_BYTES = 4 * 1024**3
MAX_JSON_DEPTH = 100
FLOAT_BYTES = 8


def read_bytes(path: Path, *, most: int = MAX_FILE_BYTES) -> bytes:
    """The whole file.

    Raises:
        FileError: missing, unreadable, a folder, empty, or larger than `most` bytes.
    """
    try:
        if path.is_dir():
            raise FileError.of(path, "", "is a folder", "Name a file in it")
        size = path.stat().st_size
        if size > most:
            raise FileError.of(path, "", f"is {size:,} bytes, more than the {most:,} read", "Split it, or use GLB")
        data = path.read_bytes()
    except FileNotFoundError:
        raise FileError.of(path, "", "there is no such file", "Check the path") from None
    except OSError as problem:
        advice = "Check the path and its permissions"
        raise FileError.of(path, "", f"cannot be read ({problem.strerror})", advice) from problem
    if not data:
        raise FileError.of(path, "", "is empty", "Export it again")
    return data


def refuse_excess(path: Path, place: str, values: int) -> None:
    """Refuse to decode more numbers than `MAX_DECODED_BYTES` holds.

    Raises:
        FileError: `values` numbers of 8 bytes exceed the limit.
    """
    if values * FLOAT_BYTES > MAX_DECODED_BYTES:
        raise FileError.of(
            path,
            place,
            f"declares {values:,} numbers, {values * FLOAT_BYTES / 1024**3:,.0f} GiB in memory; "
            f"the limit is {MAX_DECODED_BYTES // 1024**3} GiB",
            "Split the file, or export it again if it is damaged",
        )
