"""How much memory a process has taken."""

import sys

BYTES_PER_MB = 1e6
KIB = 1024


def peak_mb() -> float:
    """Most memory that this process has had at a time, pages that it shares among them, MB; 0 where nobody says."""
    if sys.platform == "win32":
        return 0.0
    import resource  # noqa: PLC0415  # not everywhere

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return float(most * (1 if sys.platform == "darwin" else KIB) / BYTES_PER_MB)
