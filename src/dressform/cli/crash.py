"""The last net: an error that nobody foresaw becomes one line, a log file and an exit code of its own."""

import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from dressform.errors import DressformError
from dressform.version import __version__

STATE = "DRESSFORM_STATE"
"""Environment variable that names another folder for logs."""
LONGEST = 300
_log: Path | None = None


def set_log(path: Path | None) -> None:
    """Name the file that a crash of this run is written to; None for one in the state folder."""
    global _log
    _log = path


def crash_line(error: BaseException, words: Sequence[str]) -> str:
    """What a person is told of an unforeseen error, after the details were written to a file."""
    what = DressformError(" ".join(f"{type(error).__name__}: {error}".split())[:LONGEST])
    path = _written(_details(error, words))
    where = f"The details are in {path}" if path is not None else "The details could not be written to any file"
    return (
        f"dressform failed; this is a fault of the program, not of your files ({what}). {where}: "
        "please send them to its maintainers, as SECURITY.md says under 'How to report'."
    )


def state_folder() -> Path:
    """Where this user's programs keep logs: the base directories that desktops agree on, or the system's own."""
    chosen = os.environ.get(STATE)
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "dressform" / "logs"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Logs" / "dressform"
    return Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state") / "dressform"


def _details(error: BaseException, words: Sequence[str]) -> str:
    head = (
        f"dressform {__version__}, Python {platform.python_version()}, {platform.platform()}\n"
        f"{datetime.now(UTC).isoformat(timespec='seconds')}\ncommand line: {list(words)!r}\n\n"
    )
    return head + "".join(traceback.format_exception(error))


def _written(details: str) -> Path | None:
    """The file that the details went to: the one asked for, else in the state folder, else a temporary one."""
    data = details.encode("utf-8", errors="backslashreplace")
    name = f"crash-{datetime.now(UTC):%Y%m%d-%H%M%S}-{os.getpid()}.log"
    wanted = [_log] if _log is not None else []
    for path in (*wanted, _state_file(name)):
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("xb" if path not in wanted else "ab") as file:
                file.write(data)
            return path
    with suppress(OSError):
        handle, temporary = tempfile.mkstemp(prefix="dressform-crash-", suffix=".log")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        return Path(temporary)
    return None


def _state_file(name: str) -> Path:
    try:
        return state_folder() / name
    except RuntimeError:  # no home folder
        return Path(tempfile.gettempdir()) / name
