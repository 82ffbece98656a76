"""The body as USD, with one thing changed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from usd_files import usd_body

pytest.importorskip("pxr", reason="needs usd-core")

from pxr import Usd, UsdSkel

MESH = "/phantom_root/phantom"


def changed(tmp_path: Path, change: Callable[[Any], None]) -> Path:
    """The phantom body's file after a change to its stage."""
    path = usd_body(tmp_path / "phantom.usda")
    stage = Usd.Stage.Open(str(path))
    change(stage)
    stage.GetRootLayer().Save()
    return path


def shape(stage: Any, name: str = "belly") -> Any:
    return UsdSkel.BlendShape(stage.GetPrimAtPath(f"{MESH}/{name}"))
