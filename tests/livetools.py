"""What the tests of the live page share: a server and a browser, and what a person's hand does again and again."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from livepage import Served, opened, served
from pagetools import Shown, drawing_browser, shown

SAME = 1e-4  # metres between what is drawn and what the library says


@dataclass
class Running:
    """A server, a browser, and the folder that the server was given."""

    server: Served
    browser: Any
    folder: Path

    def open(self, **more: Any) -> Any:
        """The page, opened anew."""
        return shown(self.browser, f"{self.server.origin}/?token={self.server.guard.token}", **more)

    def body(self, base: int = 0) -> Body:
        return self.server.hub.session.opened.bodies[base].body

    def fit(self, base: int = 0) -> Fit:
        """The garment as the library fits it when nothing was edited."""
        return make_fit(self.body(base), self.server.hub.session.opened.garments[0].garment)


@contextmanager
def live(folder: Path) -> Iterator[Running]:
    """A server over small meshes, and a browser to look at it."""
    (folder / "cases").mkdir()
    start = replace(opened(folder), cases=folder / "cases", settings_file=folder / "follow.toml")
    with drawing_browser() as browser, served(start) as server:
        yield Running(server, browser, folder)


def type_weight(page: Shown, slider: str, weight: float) -> None:
    """Type a number beside a tape, and wait until body and cloth stand there."""
    before = page.positions("")
    number = page.page.locator(f'[data-slider="{slider}"] input[type=number]')
    number.fill(str(weight))
    number.press("Enter")
    page.until(
        "(before) => window.dressform.positions('').some((value, i) => Math.abs(value - before[i]) > 1e-6)",
        before.ravel().tolist(),
    )


def open_tab(page: Shown, name: str) -> Any:
    """Open a tab of the panel."""
    page.page.get_by_role("tab", name=name, exact=True).click()
    return page.page.get_by_role("tabpanel", name=name, exact=True)


def complaints(page: Shown) -> Any:
    """Wait until the check has found something."""
    heads = page.page.locator("button.complaint")
    heads.first.wait_for()
    page.page.get_by_role("button", name="Check the whole range again").wait_for()
    return heads
