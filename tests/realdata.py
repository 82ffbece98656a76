"""Real meshes that are not part of the project: found by DRESSFORM_DATA, else beside the checkout."""

import os
from pathlib import Path

import pytest

DEFAULT_FOLDER = Path(__file__).resolve().parents[2] / "shared" / "data"


def real(name: str) -> Path:
    """Path of a real mesh, or skip the test that asks for it."""
    path = Path(os.environ.get("DRESSFORM_DATA", DEFAULT_FOLDER)) / name
    if not path.exists():
        pytest.skip(f"real mesh {name} not found: set DRESSFORM_DATA to the folder that holds it")
    return path
