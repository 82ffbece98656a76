"""`python -m dressform.cli` is the command line too."""

from dressform.cli.app import main

main()
