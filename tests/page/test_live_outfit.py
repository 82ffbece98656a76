"""The live page with two garments worn, one over the other: what is hidden, what is painted."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from dressform.formats.gltf.save import save_garment
from dressform.formats.load import load_garment
from dressform.formats.results.check_report import Source
from livepage import KEY, opened, served
from livetools import Running, complaints, open_tab
from pagetools import TABLET, Shown, drawing_browser
from solids import open_tube

pytestmark = pytest.mark.browser
OVER = "cape smooth"


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A tube with a wider one, a cape, over it."""
    folder = tmp_path_factory.mktemp("outfit")
    save_garment(replace(open_tube(radius=0.24), name="cape"), folder / "cape.glb")
    start = opened(folder)
    start = replace(
        start,
        garments=(*start.garments, load_garment(folder / "cape.glb")),
        sources={**start.sources, "cape": Source(str(folder / "cape.glb"), "0" * 64)},
        following={**start.following, "cape": start.following["tube"]},
    )
    with drawing_browser() as browser, served(start) as server:
        server.hub.start_check()
        yield Running(server, browser, folder)


@pytest.fixture
def page(running: Running) -> Iterator[Shown]:
    with running.open(size=TABLET) as fresh:
        fresh.until("() => window.dressform?.keys?.().length > 0")
        complaints(fresh)
        yield fresh
        assert fresh.errors == []


def wear_both(page: Shown, looked_at: str) -> None:
    """Put both on, and look at one."""
    page.page.locator("details.wardrobe summary").click()
    for name in ("tube", "cape"):
        page.page.get_by_role("checkbox", name=f"Wear {name}").check()
    page.page.locator(".garment-name", has_text=looked_at).click()
    page.page.keyboard.press("Escape")
    page.until("(keys) => keys.every((key) => window.dressform.keys().includes(key))", [KEY, OVER])
    page.settle()


def worn_words(page: Shown) -> str:
    return str(page.page.locator("details.wardrobe summary").inner_text())


def test_the_worst_shape_takes_off_what_hides_its_fault_and_says_so(page: Shown) -> None:
    wear_both(page, "tube")
    page.page.get_by_role("button", name="Worst shape").click()
    page.page.get_by_text("Taken off, so that nothing hides it: cape.").wait_for()
    assert worn_words(page) == "Worn: tube"
    page.page.get_by_role("button", name="Put back on").click()
    page.page.locator("details.wardrobe summary", has_text="Worn: tube, cape").wait_for()


def test_each_garment_that_is_worn_has_a_line_in_the_verdict(page: Shown) -> None:
    wear_both(page, "tube")
    page.page.locator(".verdict-line", has_text="tube").wait_for()
    page.page.locator(".verdict-other", has_text="cape").wait_for()
    assert page.page.locator(".verdict-other").count() == 1


def test_the_brush_paints_the_garment_that_the_pointer_names(running: Running, page: Shown) -> None:
    wear_both(page, "tube")
    panel = open_tab(page, "Alter")
    panel.get_by_role("button", name="Paint strength").click()
    box = page.page.locator("canvas.picture").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.page.mouse.move(x, y)
    page.page.locator(".pointer-note").get_by_text("cape").wait_for()
    page.page.mouse.down()
    page.page.mouse.move(x + 10, y)
    page.page.mouse.up()
    panel.get_by_role("heading", name="cape").wait_for()
    panel.get_by_text("This garment has painted strength").wait_for()
    session = running.server.hub.session
    assert session.following(session.variant(OVER)).mask is not None
    assert session.following(session.variant(KEY)).mask is None


def test_nothing_worn_is_said_with_what_to_do(page: Shown) -> None:
    page.page.locator("details.wardrobe summary").click()
    worn = page.page.locator(".wardrobe-list input:checked")
    while worn.count():
        worn.first.click()
    assert worn_words(page) == "Nothing worn"
    page.page.locator(".verdict-line").get_by_text("Put a garment on").wait_for()
