"""Where a glTF file may fetch its bytes: inside itself, or beside itself, never elsewhere."""

import base64
import binascii
from pathlib import Path
from urllib.parse import unquote, urlsplit

from dressform.errors import FileError
from dressform.formats.guards.limits import read_bytes

DATA_SCHEME = "data:"


def is_data(uri: str) -> bool:
    """Whether the bytes stand in the URI itself."""
    return uri[: len(DATA_SCHEME)].lower() == DATA_SCHEME


def media_type(uri: str) -> str:
    """Media type of a data URI, empty where it names none."""
    return uri[len(DATA_SCHEME) :].split(",", 1)[0].split(";", 1)[0]


def beside(path: Path, uri: str, place: str) -> Path:
    """Path of the file that a relative URI names, inside the folder of `path`.

    Raises:
        FileError: the URI is absolute, names a network address, or climbs out of the folder.
    """
    parts = urlsplit(uri)
    name = unquote(uri)
    if parts.scheme or parts.netloc or "\\" in name or "\0" in name or name.startswith("/"):
        raise FileError.of(
            path, place, f"refers to {shorten(uri)!r}, not a file beside it", "Put that file into the same folder"
        )
    folder = path.resolve().parent
    target = (folder / name).resolve()
    if not target.is_relative_to(folder):
        raise FileError.of(
            path, place, f"refers to {shorten(uri)!r}, outside its folder", "Put that file into the same folder"
        )
    return target


def fetch(path: Path, uri: str, place: str) -> bytes:
    """Bytes of a data URI or of a file beside `path`.

    Raises:
        FileError: see `beside`; or the data URI is damaged, or the file cannot be read.
    """
    if not is_data(uri):
        target = beside(path, uri, place)
        if not target.is_file():
            advice = "Put that file into the same folder"
            raise FileError.of(path, place, f"refers to {shorten(uri)!r}, which is missing", advice)
        return read_bytes(target)
    head, comma, body = uri.partition(",")
    if not comma or not head.lower().endswith(";base64"):
        raise FileError.of(path, place, "holds a data URI that is not base64", "Export the file again")
    try:
        return base64.b64decode(unquote(body), validate=True)
    except (binascii.Error, ValueError):
        raise FileError.of(path, place, "holds a damaged base64 data URI", "Export the file again") from None


def shorten(uri: str, *, most: int = 80) -> str:
    """The URI, cut for a message."""
    return uri if len(uri) <= most else uri[:most] + "…"
