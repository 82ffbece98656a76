"""The command line: arguments in, exit codes out. The only folder that prints or exits."""

from dressform.cli.app import main

__all__ = ["main"]
