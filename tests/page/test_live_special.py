"""The live page on paper, in colours that a person forces on all pages, and with many garments worn."""

import io

import numpy as np
import pytest
from PIL import Image

from livetools import Running, complaints

pytestmark = pytest.mark.browser


def test_paper_holds_the_picture_the_verdict_and_the_open_complaint_alone(checked: Running) -> None:
    """It printed the screen: sliders that nobody can move, and a list that was cut off."""
    with checked.open(color_scheme="dark") as page:
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


def test_sliders_and_legend_are_seen_in_forced_colours(checked: Running) -> None:
    """Their tapes, pins and scale are backgrounds, which forced colours take away."""
    with checked.open(forced_colors="active") as page:
        page.ready()
        complaints(page).first.click()
        for what in (".tape", ".ramp"):
            seen = page.page.locator(what).first.screenshot()
            assert len(np.unique(np.asarray(Image.open(io.BytesIO(seen)).convert("L")))) > 8, what
