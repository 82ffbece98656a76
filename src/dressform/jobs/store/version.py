"""The version of results: what was found by another one is found anew."""

import hashlib
import sys
from functools import cache
from importlib import metadata
from pathlib import Path

import dressform

LOOKED_AT = (
    "arrays.py", "audit", "body", "causes", "faults", "fit", "formats", "garment", "infer", "jobs", "lift", "mesh",
    "proof", "repair", "sweep", "units.py",
)  # fmt: skip
"""What figures depend on; pictures, pages, words of the command line and the demo change none."""
DEPENDS_ON = ("numpy", "scipy", "numba", "libigl")
LENGTH = 16


@cache
def results_version() -> str:
    """Tells whether two runs compute the same: a hash of the code that figures depend on and of what it computes with.

    Proof: tests/jobs/store/test_version.py
    """
    state = hashlib.sha256(f"{sys.version_info[:2]}".encode())
    for name in DEPENDS_ON:
        state.update(f"{name} {metadata.version(name)}\n".encode())
    package = Path(dressform.__file__).parent
    for place in LOOKED_AT:
        found = [package / place] if place.endswith(".py") else sorted((package / place).rglob("*.*"))
        for path in found:
            if path.suffix in (".py", ".toml"):
                state.update(f"{path.relative_to(package).as_posix()}\n".encode())
                state.update(path.read_bytes())
    return state.hexdigest()[:LENGTH]
