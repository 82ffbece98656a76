"""The page in a real Chromium that draws in software: opened, listened to, looked at."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browser import FLAGS, chromium
from nodetools import WEB

DRAWING = ("--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
DESKTOP, TABLET, PHONE = (1440, 900), (1024, 768), (390, 844)
PATIENCE_MS = 30_000
GRAVE = ("serious", "critical")
AXE = WEB / "node_modules" / "axe-core" / "axe.min.js"
LOOKS = os.environ.get("DRESSFORM_SCREENSHOTS")
"""Folder for screenshots that a person will view; none are taken without it."""


@dataclass
class Shown:
    """A page of the browser and what it complained of."""

    page: Any
    errors: list[str] = field(default_factory=list)

    def ready(self) -> None:
        """Wait until body and cloth are there."""
        self.page.wait_for_function(
            "() => typeof window.dressform?.keys === 'function' && window.dressform.keys().length > 0",
            timeout=PATIENCE_MS,
        )
        self.settle()

    def settle(self) -> None:
        """Let the page draw what it was told."""
        self.page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")

    def positions(self, key: str) -> np.ndarray:
        """Vertices as they are drawn, (V, 3); the body's for the empty key."""
        return np.array(self.page.evaluate("(key) => Array.from(window.dressform.positions(key))", key)).reshape(-1, 3)

    def weights(self) -> list[float]:
        """Every slider's weight."""
        return list(self.page.evaluate("() => window.dressform.weights()"))

    def until(self, condition: str, argument: Any = None) -> None:
        """Wait until a JavaScript function says yes."""
        self.page.wait_for_function(condition, arg=argument, timeout=PATIENCE_MS)

    def axe(self) -> list[str]:
        """What the accessibility checker finds serious or worse, one line each."""
        if not AXE.is_file():
            pytest.skip("axe-core is not installed: run npm ci --prefix web")
        self.page.evaluate(AXE.read_text(encoding="utf-8"))
        found = self.page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
        return [
            f"{one['id']}: {node['target']} {node.get('failureSummary', '')}"
            for one in found["violations"]
            if one["impact"] in GRAVE
            for node in one["nodes"]
        ]

    def look(self, name: str) -> None:
        """A screenshot for a person, where a folder for them was named."""
        if LOOKS:
            Path(LOOKS).mkdir(parents=True, exist_ok=True)
            self.page.screenshot(path=str(Path(LOOKS) / f"{name}.png"))


@contextmanager
def drawing_browser() -> Iterator[Any]:
    """A Chromium that draws three dimensions without a graphics card."""
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    flags = [flag for flag in FLAGS if flag != "--disable-gpu"]
    with api.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium(), args=[*flags, *DRAWING])
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def shown(browser: Any, address: str, *, size: tuple[int, int] = DESKTOP, **more: Any) -> Iterator[Shown]:
    """An address opened in a window of this size, with nothing else in reach of the browser."""
    width, height = size
    context = browser.new_context(viewport={"width": width, "height": height}, **more)
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    opened = Shown(page)
    page.on("console", lambda message: opened.errors.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: opened.errors.append(str(error)))
    try:
        page.goto(address)
        yield opened
    finally:
        context.close()
