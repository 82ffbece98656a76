"""Opens the page in a browser without telling its address to others on the machine.

A browser is started with what it is to open among its arguments, and any user may list those. So it is given a file
that only this user can read, and the file leads on to the page.
"""

import atexit
import html
import os
import shutil
import tempfile
import threading
import webbrowser
from pathlib import Path

from dressform.leftovers import PLAIN, owned, sweep


def open_privately(address: str) -> None:
    """Open the page from another thread; some browsers return only when they are closed."""
    path = leading_file(address)
    atexit.register(shutil.rmtree, path.parent, ignore_errors=True)
    threading.Thread(target=webbrowser.open, args=(path.as_uri(),), daemon=True).start()


def leading_file(address: str) -> Path:
    """A file that leads a browser on to an address, in a folder of its own that nobody else can enter."""
    sweep(Path(tempfile.gettempdir()))
    folder = Path(tempfile.mkdtemp(prefix=owned(PLAIN)))
    path = folder / "open.html"
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        goal = html.escape(address, quote=True)
        file.write(
            f'<!doctype html><meta charset="utf-8"><title>dressform</title>'
            f'<meta http-equiv="refresh" content="0; url={goal}"><a href="{goal}">dressform</a>\n'
        )
    return path
