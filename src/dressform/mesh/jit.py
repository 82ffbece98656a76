"""The one place that configures numba.

Kernels carry `@jit` above `@no_type_check` (the second keeps run-time shape checks out of compiled code). They
take and return plain arrays, run on one thread and hold no lock: parallel work is spread over processes or
threads above them. Their checked, documented doors are ordinary functions.
"""

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

Kernel = TypeVar("Kernel", bound=Callable[..., Any])


def jit(function: Kernel) -> Kernel:
    """Compile a kernel: cached on disk, no Python objects, strict IEEE arithmetic, interpreter lock released."""
    return cast(Kernel, numba.njit(cache=True, nogil=True)(function))
