"""A real Chromium without a window: found, or the test that needs it is skipped with the way to install it."""

import base64
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from nodetools import bundle

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
PLAYER = "player.mjs"


def chromium() -> str:
    """Path of a Chromium: DRESSFORM_CHROMIUM, else the first on the search path."""
    found = os.environ.get("DRESSFORM_CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)
    if found is None:
        pytest.skip("no Chromium found: install one, or set DRESSFORM_CHROMIUM to its path")
    return found


@contextmanager
def page() -> Iterator[Any]:
    """An empty page that reaches no network."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium(), args=list(FLAGS))
        try:
            fresh = browser.new_page()
            fresh.route("**/*", lambda route: route.abort())
            yield fresh
        finally:
            browser.close()


class Player:
    """three.js in a page: plays GLB bytes and says where the vertices stand."""

    def __init__(self, fresh: Any) -> None:
        self.page = fresh
        self.page.add_script_tag(content=bundle(PLAYER))

    def positions(
        self,
        path: Path,
        weights: list[dict[str, float]],
        *,
        scene: int = 0,
        turns: dict[str, list[float]] | None = None,
    ) -> tuple[np.ndarray, np.ndarray]:
        """All vertices of a scene as it stands, (vertices, 3), and at each set of weights, (sets, vertices, 3)."""
        data = base64.b64encode(path.read_bytes()).decode()
        played = self.page.evaluate("([d, s, w, t]) => play(d, s, w, t)", [data, scene, weights, turns or {}])
        return np.array(played["base"]).reshape(-1, 3), np.array(played["sets"]).reshape(len(weights), -1, 3)

    def standing(self, path: Path, stances: list[dict[str, Any]], *, scene: int = 0) -> tuple[np.ndarray, np.ndarray]:
        """All vertices of a scene as it stands, (vertices, 3), and in each stance, (stances, vertices, 3)."""
        data = base64.b64encode(path.read_bytes()).decode()
        played = self.page.evaluate("([d, s, w]) => playStances(d, s, w)", [data, scene, stances])
        return np.array(played["base"]).reshape(-1, 3), np.array(played["sets"]).reshape(len(stances), -1, 3)

    def animated(
        self, path: Path, moments: list[float], *, scene: int = 0, animation: int = 0
    ) -> tuple[np.ndarray, np.ndarray]:
        """All vertices of a scene as it stands, and at each moment of one of its animations, (moments, vertices, 3)."""
        data = base64.b64encode(path.read_bytes()).decode()
        played = self.page.evaluate("([d, s, a, m]) => playAnimation(d, s, a, m)", [data, scene, animation, moments])
        return np.array(played["base"]).reshape(-1, 3), np.array(played["sets"]).reshape(len(moments), -1, 3)
