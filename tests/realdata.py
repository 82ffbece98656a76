"""Real meshes that are not part of the project, in the folder that DRESSFORM_DATA names."""

import os
from pathlib import Path

import pytest


def real(name: str) -> Path:
    """Path of a real mesh, or skip the test that asks for it."""
    folder = os.environ.get("DRESSFORM_DATA")
    if not folder:
        pytest.skip(f"real mesh {name} not looked for: set DRESSFORM_DATA to the folder that holds it")
    path = Path(folder) / name
    if not path.exists():
        pytest.skip(f"real mesh {name} not found in DRESSFORM_DATA")
    return path
