"""The library `usd-core`, imported when the first USD file is met."""

import importlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.errors import FileError

SUFFIXES = (".usd", ".usda", ".usdc", ".usdz")
MARKS = (b"#usda", b"PXR-USDC", b"PK\x03\x04")
INSTALL = "Install it: pip install 'dressform[usd]'"


@dataclass(frozen=True)
class UsdLibrary:
    """The modules of `pxr` that are used; their types are not known."""

    Ar: Any
    Gf: Any
    Sdf: Any
    Tf: Any
    Usd: Any
    UsdGeom: Any
    UsdShade: Any
    UsdSkel: Any
    UsdUtils: Any
    Vt: Any


@cache
def _library() -> UsdLibrary | None:
    try:
        return UsdLibrary(**{name: importlib.import_module(f"pxr.{name}") for name in UsdLibrary.__annotations__})
    except ImportError:  # an extra
        return None


def usd_library(path: Path) -> UsdLibrary:
    """The library.

    Raises:
        FileError: it is not installed.
    """
    found = _library()
    if found is None:
        raise FileError.of(path, "", "is USD, which needs usd-core", INSTALL)
    return found


@contextmanager
def usd_errors(path: Path, usd: UsdLibrary) -> Iterator[None]:
    """What the library finds wrong becomes one `FileError`; its warnings, which it prints, are left out.

    Raises:
        FileError: the library refused what was asked of it.
    """
    quiet = usd.UsdUtils.CoalescingDiagnosticDelegate()
    try:
        yield
    except (usd.Tf.ErrorException, RuntimeError) as problem:
        words = " ".join(str(problem).split()).rpartition(" : ")[2] or type(problem).__name__
        raise FileError.of(path, "", f"is damaged: {words.rstrip('.')}", "Export it again") from None
    finally:
        del quiet


def matrix_of(given: Any) -> Float[np.ndarray, "4 4"]:
    """A matrix of the library, which multiplies rows from the right, as one that multiplies columns, (4, 4)."""
    return np.array(given, dtype=np.float64).T.copy()


def matrices_of(given: Any) -> Float[np.ndarray, "N 4 4"]:
    """The same of several, (N, 4, 4)."""
    return np.array(given, dtype=np.float64).reshape(-1, 4, 4).transpose(0, 2, 1).copy()
