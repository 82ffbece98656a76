"""The process in which somebody's code runs: started with a pipe, told what to call, ended when the pipe closes.

It says `"ready"` once it is there, and answers each request with one pair: `"done"` and the answer, or `"failed"` and
why in one line.
"""

import importlib
import importlib.util
import inspect
import os
import sys
import threading
import time
import traceback
from collections.abc import Callable, Mapping
from multiprocessing.connection import Connection
from typing import Any

import numpy as np

from dressform.fit.fit import Fit

ORPHANED = 1.0
"""It looks so often, in seconds, whether the process that started it is still there."""


class CodeServer:
    """Serves one named function.

    Args:
        name: `module:function`, or `file.py:function`.
    """

    def __init__(self, name: str) -> None:
        self._name = name
        self._cloths: dict[int, Callable[..., Any]] = {}

    def make(self, number: int, *given: object) -> tuple[str, object]:
        """Call the function with body, garment and following, and say what it returned."""
        made = _found(self._name)(*given)
        if isinstance(made, Fit):
            return "fit", (made.base, made.deltas, made.skin)
        if isinstance(made, Mapping):
            return "targets", {str(name): np.asarray(target, dtype=np.float64) for name, target in made.items()}
        if callable(made):
            self._cloths[number] = made
            return "cloth", _takes_stance(made)
        return "targets", np.asarray(made, dtype=np.float64)

    def at(self, number: int, weights: np.ndarray, stance: object) -> np.ndarray:
        """Ask what `make` returned where the cloth is."""
        words = (weights,) if stance is None else (weights, stance)
        return np.asarray(self._cloths[number](*words), dtype=np.float64)


def serve(handle: int, name: str) -> None:
    """Answer requests until the pipe closes."""
    threading.Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()
    sys.path.insert(0, "")
    server, pipe = CodeServer(name), Connection(handle)
    pipe.send(("ready", None))
    while True:
        try:
            what, given = pipe.recv()
        except EOFError:
            return
        try:
            pipe.send(("done", getattr(server, what)(*given)))
        except Exception as error:  # whatever somebody's code does is told, never raised here
            pipe.send(("failed", _words(error)))


def _found(name: str) -> Callable[..., Any]:
    """The function of that name."""
    module, _, function = name.rpartition(":")
    if module.endswith(".py"):
        spec = importlib.util.spec_from_file_location(os.path.basename(module).removesuffix(".py"), module)
        if spec is None or spec.loader is None or not os.path.isfile(module):
            raise FileNotFoundError(f"there is no file {module!r}")
        loaded = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = loaded
        spec.loader.exec_module(loaded)
    else:
        loaded = importlib.import_module(module)
    found: Any = loaded
    for part in function.split("."):
        found = getattr(found, part)
    if not callable(found):
        raise TypeError(f"{function!r} is no function")
    result: Callable[..., Any] = found
    return result


def _takes_stance(function: Callable[..., Any]) -> bool:
    """Whether it takes a stance beside the weights."""
    try:
        parameters = inspect.signature(function).parameters.values()
    except (TypeError, ValueError):
        return False
    plain = [one for one in parameters if one.kind in (one.POSITIONAL_ONLY, one.POSITIONAL_OR_KEYWORD)]
    return len(plain) > 1 or any(one.kind == one.VAR_POSITIONAL for one in parameters)


def _words(error: Exception) -> str:
    """What went wrong, and where in somebody's code."""
    frames = [one for one in traceback.extract_tb(error.__traceback__) if one.filename != __file__]
    where = f" ({os.path.basename(frames[-1].filename)}, line {frames[-1].lineno})" if frames else ""
    return " ".join(f"{type(error).__name__}: {error}".split()) + where


def _end_with(parent: int) -> None:
    """End when the process that started this one has gone."""
    while os.getppid() == parent:
        time.sleep(ORPHANED)
    os._exit(0)


if __name__ == "__main__":
    serve(int(sys.argv[1]), sys.argv[2])
