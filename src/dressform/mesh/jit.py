"""The one place that configures numba.

Kernels carry `@jit` above `@no_type_check` (the second keeps run-time shape checks out of compiled code). They
take and return plain arrays, run on one thread and hold no lock: parallel work is spread over processes or
threads above them. Their checked, documented doors are ordinary functions.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from typing import Any, TypeVar, cast

import numba
from numba.core.compiler_lock import global_compiler_lock
from numba.core.registry import CPUDispatcher
from numba.core.sigutils import normalize_signature

from dressform.interrupts import raise_if_interrupted

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

Kernel = TypeVar("Kernel", bound=Callable[..., Any])


def jit(function: Kernel) -> Kernel:
    """Compile a kernel: cached on disk, no Python objects, strict IEEE arithmetic, interpreter lock released."""
    kernel = numba.njit(cache=True, nogil=True)(function)
    cast(Any, kernel).__class__ = _Guarded
    return cast(Kernel, kernel)


def inlined(function: Kernel) -> Kernel:
    """As `jit`, for a function that other kernels call in their innermost loop: compiled into each of them."""
    return cast(Kernel, numba.njit(nogil=True, forceinline=True)(function))


class _Guarded(CPUDispatcher):
    """A kernel that two processes do not compile at once, and that raises KeyboardInterrupt when it is interrupted.

    On entry and exit numba runs functions in Python, where Ctrl-C can arrive. Numba then returns a result with the
    exception still set. Python reports this as SystemError, once for each function on the call path. Kernels that are
    called by kernels do not pass through here.
    """

    def compile(self, sig: Any) -> Any:
        """Compile for a signature, or load what another process has compiled, after waiting for it if need be."""
        if tuple(normalize_signature(sig)[0]) in self.overloads:  # type: ignore[no-untyped-call]  # numba's
            return super().compile(sig)
        # Numba's own lock first: two threads must not take the two in different orders.
        with global_compiler_lock, _alone(self.py_func.__code__.co_filename):
            return super().compile(sig)

    def typeof_pyval(self, val: Any) -> Any:
        """The type of an argument: arrays of records, which are read only, share the code compiled for others."""
        kind = super().typeof_pyval(val)
        return kind.copy(readonly=False) if isinstance(kind, numba.types.Array) and not kind.mutable else kind

    def __call__(self, *args: Any, **options: Any) -> Any:
        """Run the kernel."""
        try:
            result = super().__call__(*args, **options)
        except SystemError as problem:
            if _is_from_interrupt(problem):
                raise KeyboardInterrupt from None
            raise
        raise_if_interrupted()
        return result


def _is_from_interrupt(problem: BaseException | None) -> bool:
    """Whether an interrupt is the root cause of an error."""
    while problem is not None:
        if isinstance(problem, KeyboardInterrupt):
            return True
        problem = problem.__cause__ or problem.__context__
    return False


_held: set[str] = set()
"""Source files whose kernels this process is compiling."""


@contextmanager
def _alone(source: str) -> Iterator[None]:
    """In this context no other process compiles a kernel of the source file.

    A kernel is compiled together with those that it calls, which lie in the same file or in one that it imports; as no
    two files import each other, no two processes wait for each other. Where files cannot be locked, several processes
    may compile the same.
    """
    if source in _held or fcntl is None:
        yield
        return
    _held.add(source)
    try:
        with ExitStack() as lock:
            with suppress(OSError):
                fcntl.flock(lock.enter_context(open(source, "rb")), fcntl.LOCK_EX)
            yield
    finally:
        _held.discard(source)
