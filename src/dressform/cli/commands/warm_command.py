"""`dressform warm`: compile once what other commands would compile when they first need it."""

from dressform.cli.console import out, waiting
from dressform.cli.exits import EXIT_CLEAN


def warm() -> int:
    """Compile the numerics once, on two cores; the first check of a fresh installation then begins at once."""
    from dressform.jobs.kernels import compile_kernels

    with waiting("compiling once, about a minute"):
        made, seconds = compile_kernels()
    words = f"Compiled {made} kernels in {seconds:.0f} s." if made else "All kernels are compiled."
    out().print(words)
    return EXIT_CLEAN
