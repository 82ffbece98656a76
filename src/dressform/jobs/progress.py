"""How far a job has come."""

from collections.abc import Callable

Progress = Callable[[int, int, str], None]
"""Called with how much is done, how much there is (0 where that is not known), and what is being done."""

Step = Callable[[int, int], None]
"""The same of one stage of a job."""


def stage(progress: Progress | None, words: str) -> Step | None:
    """What is told while one stage lasts; None where nobody listens."""
    if progress is None:
        return None
    return lambda done, of: progress(done, of, words)
