"""The command line: arguments in, exit codes out. The only folder that prints or exits."""

import os
import sys
import threading
from typing import NoReturn

from dressform.cli.exits import EXIT_INTERRUPTED, INTERRUPTED

__all__ = ["main"]


def main() -> NoReturn:
    """The entry of the installed program."""
    try:
        from dressform.cli.app import run  # noqa: PLC0415  # Ctrl-C may come while it is loaded

        code = run(sys.argv[1:])
    except KeyboardInterrupt:
        print(INTERRUPTED, file=sys.stderr)
        code = EXIT_INTERRUPTED
    if threading.active_count() > 1:
        _leave(code)
    sys.exit(code)


def _leave(code: int) -> NoReturn:
    """End while other threads compute, without taking the interpreter down around them.

    SciPy's sparse solver, for one, makes the flush of standard output fail then, and the exit code 120.
    """
    from dressform.leftovers import sweep_own  # noqa: PLC0415  # not for a command's help

    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    sweep_own()
    os._exit(code)
