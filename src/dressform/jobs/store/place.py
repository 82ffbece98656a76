"""Where the store lies that every run uses by default."""

import os
import sys
from pathlib import Path

STORE_VARIABLE = "DRESSFORM_STORE"
"""Environment variable that names another file."""


def default_store() -> Path:
    """The file: by the base directories that desktops agree on, or in the system's own place."""
    chosen = os.environ.get(STORE_VARIABLE)
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return base / "dressform" / "store.db"
