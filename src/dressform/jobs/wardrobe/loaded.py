"""Imported by the server from which processes are forked: each then begins with its kernels loaded."""

from contextlib import suppress

from dressform.jobs.kernels import use_kernels

with suppress(
    Exception
):  # a server that ends would take all processes with it; what fails here fails again, and is told
    use_kernels(repairs=False)
