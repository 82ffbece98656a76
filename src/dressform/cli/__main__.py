"""`python -m dressform.cli` is the command line too."""

from dressform.cli import main

main()
