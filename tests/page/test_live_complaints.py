"""From a complaint to the next on the live page, at a desk, on a phone, on paper and in forced colours."""

import io
from collections.abc import Iterator

import numpy as np
import pytest
from PIL import Image

from livetools import Running, complaints, open_tab
from pagetools import PHONE, TABLET, Shown

pytestmark = pytest.mark.browser

IN_VIEW = """(selector) => {
  const box = document.querySelector(selector).getBoundingClientRect();
  const at = document.elementFromPoint(box.left + box.width / 2, box.top + 8);
  return document.querySelector(selector).contains(at) && box.bottom <= innerHeight;
}"""
"""Whether all of an element is inside the window, with nothing over its upper edge."""
COVERED = """() => {
  const notice = document.querySelector(".notice").getBoundingClientRect();
  const over = (box) =>
    box.left < notice.right && box.right > notice.left && box.top < notice.bottom && box.bottom > notice.top;
  const all = [...document.querySelectorAll("button, select, input, .legend")];
  const used = all.filter((one) => !one.closest(".notice") && one.checkVisibility());
  return used.filter((one) => over(one.getBoundingClientRect())).map((one) => one.outerHTML.slice(0, 120));
}"""
"""What can be used and lies under the first notice."""


@pytest.fixture
def running(checked: Running) -> Running:
    return checked


@pytest.fixture
def desk(running: Running) -> Iterator[Shown]:
    with running.open(size=TABLET) as page:
        page.ready()
        complaints(page)
        yield page
        assert page.errors == []


def layer_in_view(page: Shown) -> bool:
    """Whether the layer that is shown stands inside the row of layers."""
    return bool(
        page.page.evaluate(
            """() => {
              const row = document.querySelector(".layer-row").getBoundingClientRect();
              const box = document.querySelector(".layer input:checked").closest("label").getBoundingClientRect();
              return box.width > 0 && box.left >= row.left - 1 && box.right <= row.right + 1;
            }"""
        )
    )


def test_on_a_phone_the_worst_is_seen_with_its_layer_and_leads_to_the_next(running: Running) -> None:
    """It stayed among the sliders, the layer beyond the edge, and there was no way on."""
    with running.open(size=PHONE) as page:
        page.ready()
        page.page.get_by_role("button", name="Show me the worst").click()
        for step in ("1 of", "2 of"):
            page.page.locator(".steps-told", has_text=step).wait_for()
            page.until(IN_VIEW, "li.open button.complaint")
            assert layer_in_view(page)
            page.page.get_by_role("button", name="Next complaint").click()
        page.page.locator(".steps-told", has_text="3 of").wait_for()
        assert page.errors == []


def test_every_complaint_that_is_gone_on_to_is_in_view(desk: Shown) -> None:
    """The one that was open lay below the fold of the list."""
    count = complaints(desk).count()
    assert count > 3
    open_tab(desk, "Range")
    for number in range(1, count + 1):
        desk.page.keyboard.press("n")
        desk.page.locator(".steps-told", has_text=f"{number} of {count}").wait_for()
        desk.until(IN_VIEW, "li.open button.complaint")


def test_notices_cover_nothing_that_can_be_used(desk: Shown) -> None:
    """What *Worst shape* says lay over the legend and the buttons."""
    desk.page.get_by_role("button", name="Worst shape").click()
    desk.page.locator(".notice").first.wait_for()
    desk.page.wait_for_timeout(500)  # the sentence below takes its lines
    assert desk.page.evaluate(COVERED) == []


def test_rare_layers_stand_behind_a_button(desk: Shown) -> None:
    row = desk.page.get_by_role("radiogroup", name="Layer on the surface")
    rare = row.get_by_text("skin under the cloth", exact=True)
    assert rare.is_hidden()
    desk.page.get_by_role("button", name="All layers").click()
    rare.click()
    desk.page.get_by_role("button", name="Fewer layers").click()
    assert rare.is_visible()  # as long as it is the one that is shown
    row.get_by_text("as worn", exact=True).click()
    rare.wait_for(state="hidden")


def test_paper_holds_the_picture_the_verdict_and_the_open_complaint_alone(running: Running) -> None:
    """It printed the screen: sliders that nobody can move, and a list that was cut off."""
    with running.open(color_scheme="dark") as page:
        page.ready()
        complaints(page).first.click()
        page.page.locator(".steps-told", has_text="1 of").wait_for()
        page.page.evaluate("() => window.dispatchEvent(new Event('beforeprint'))")
        page.page.emulate_media(media="print")
        for gone in (".margin", ".tabs", ".ways", ".layers", "canvas.picture"):
            assert not page.page.locator(gone).first.is_visible(), gone
        shown = page.page.locator("img.printed")
        assert shown.is_visible()
        pixels = np.asarray(Image.open(io.BytesIO(shown.screenshot())).convert("RGB"), dtype=int)
        assert np.ptp(pixels.mean(axis=2)) > 60  # a body, and not an empty sheet
        assert page.page.locator(".complaints > li:visible").count() == 1
        ink = page.page.locator(".verdict-line").evaluate("(line) => getComputedStyle(line).color")
        assert ink == page.page.locator(".verdict-line").evaluate(
            "(line) => { document.documentElement.dataset.theme = 'light'; return getComputedStyle(line).color; }"
        )


def test_sliders_and_legend_are_seen_in_forced_colours(running: Running) -> None:
    """Their tapes, pins and scale are backgrounds, which forced colours take away."""
    with running.open(forced_colors="active") as page:
        page.ready()
        complaints(page).first.click()
        for what in (".tape", ".ramp"):
            seen = page.page.locator(what).first.screenshot()
            assert len(np.unique(np.asarray(Image.open(io.BytesIO(seen)).convert("L")))) > 8, what
