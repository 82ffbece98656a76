"""The command line: arguments in, exit codes out. The only folder that prints or exits."""

import sys

from dressform.cli.exits import EXIT_INTERRUPTED, INTERRUPTED

__all__ = ["main"]


def main() -> None:
    """The entry of the installed program."""
    try:
        from dressform.cli.app import run  # noqa: PLC0415  # Ctrl-C may come while it is loaded

        sys.exit(run(sys.argv[1:]))
    except KeyboardInterrupt:
        print(INTERRUPTED, file=sys.stderr)
        sys.exit(EXIT_INTERRUPTED)
