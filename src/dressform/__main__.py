"""`python -m dressform` is the command line."""

from dressform.cli import main

main()
