"""The report as the person opens it who gets it by mail: from a file, without a network, in a real browser."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.report.html import pictures as html_pictures
from dressform.report.html.parts import ReportGarment
from dressform.report.html.report import make_report, write_report
from livetools import SAME, open_tab, type_weight
from pagetools import DESKTOP, LOOKS, PHONE, TABLET, Shown, drawing_browser, shown
from report_scenes import Scene, small_scene

pytestmark = [pytest.mark.browser, pytest.mark.long]

LOOSE, STIFF = "loose tube smooth", "stiff tube smooth"
FIELD_DEGREES = 24.0
"""From top to bottom of the picture: `FIELD` of `web/src/stage/orbit.ts`."""
SIZES = {"desktop": DESKTOP, "tablet": TABLET, "phone": PHONE}


@dataclass
class Mailed:
    """A report in a folder of its own, and a browser that reaches no network."""

    scene: Scene
    path: Path
    browser: Any

    def open(self, **more: Any) -> Any:
        """The report, opened from its file."""
        return shown(self.browser, self.path.as_uri(), offline=True, **more)


@pytest.fixture(scope="module")
def mailed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Mailed]:
    scene = small_scene()
    path = tmp_path_factory.mktemp("mail") / "keepers.html"
    worn = {key: ReportGarment(fit, slider_points=3) for key, fit in scene.fits.items()}
    with pytest.MonkeyPatch.context() as patch:
        if not LOOKS:  # nobody looks at the pictures
            patch.setattr(html_pictures, "VIEW_WIDTH", 60)
            patch.setattr(html_pictures, "CLUSTER_SIZE", (48, 48))
        write_report(make_report(scene.body, scene.found, worn, workers=2), path)
    with drawing_browser() as browser:
        yield Mailed(scene, path, browser)


@pytest.fixture
def page(mailed: Mailed) -> Iterator[Shown]:
    """The report at a desk; whatever a test does there, nothing may be complained of and nothing asked for."""
    asked: list[str] = []
    with mailed.open() as fresh:
        fresh.page.on("request", lambda request: asked.append(request.url))
        fresh.ready()
        yield fresh
        assert fresh.errors == []
        assert [url for url in asked if not url.startswith(("data:", "blob:"))] == []


def wear(page: Shown, name: str) -> None:
    """Put a garment on from the list at the top."""
    page.page.locator("details.wardrobe summary").click()
    page.page.get_by_role("checkbox", name=f"Wear {name}").check()
    page.page.keyboard.press("Escape")
    page.until("(key) => window.dressform.keys().includes(key)", f"{name} smooth")
    page.settle()


def test_the_worst_garment_is_worn_first(page: Shown) -> None:
    assert page.page.evaluate("() => window.dressform.keys()") == [STIFF]
    assert page.page.locator("details.wardrobe summary").inner_text() == "Worn: stiff tube"


@pytest.mark.parametrize("seed", range(3))
def test_what_is_drawn_at_typed_weights_is_what_the_library_says(mailed: Mailed, page: Shown, seed: int) -> None:
    body = mailed.scene.body
    np.testing.assert_allclose(page.positions(""), body.vertices, atol=SAME)
    wear(page, "loose tube")
    random = np.random.default_rng(seed)
    weights = np.round(random.uniform(0.1, 1.0, len(body.morph_names)), 2)
    for name, weight in zip(body.morph_names, weights):
        type_weight(page, name, float(weight))
    assert page.weights() == pytest.approx(list(weights))
    np.testing.assert_allclose(page.positions(""), body.at(weights), atol=SAME)
    for key in (LOOSE, STIFF):
        np.testing.assert_allclose(page.positions(key), mailed.scene.fits[key].at(weights), atol=SAME)


def test_a_click_on_a_place_goes_to_its_worst_shape(mailed: Mailed, page: Shown) -> None:
    head = page.page.locator("button.complaint").first
    head.scroll_into_view_if_needed()
    head.click()
    page.until("() => window.dressform.weights().some((weight) => weight > 0)")
    weights = np.array(page.weights(), dtype=np.float64)
    assert any(np.allclose(row.faults.weights, weights, atol=1e-6) for row in mailed.scene.found.garments[1].rows)
    page.settle()
    np.testing.assert_allclose(page.positions(STIFF), mailed.scene.fits[STIFF].at(weights), atol=SAME)
    page.look("report-place")


def test_colours_between_stored_shapes_say_where_they_were_measured(page: Shown) -> None:
    type_weight(page, "belly", 0.9)
    page.page.locator(".layers").get_by_text("cloth under the skin", exact=True).click()
    page.page.get_by_text(re.compile("easured at|from the shape|nearest", re.IGNORECASE)).first.wait_for()
    highest = page.page.locator(".highest-words").inner_text()
    assert highest.startswith("Highest at belly=1: ")  # and not at the shape that is shown
    page.look("report-layer")


def test_a_report_offers_nothing_that_needs_a_server(page: Shown) -> None:
    tabs = page.page.get_by_role("tab").all_inner_texts()
    assert "Faults" in tabs
    assert not {"Tape", "Pose", "Alter"} & set(tabs)


def test_charts_of_the_range_are_drawn_by_the_page_and_told_by_the_tables(page: Shown) -> None:
    panel = open_tab(page, "Range")
    assert panel.locator("svg, canvas").count() > 0
    assert page.page.locator(".r-charts table").count() >= 4
    assert page.page.locator(".r-charts svg").count() == 0


def test_the_static_part_is_whole_without_a_script(mailed: Mailed) -> None:
    with mailed.open(java_script_enabled=False) as opened:
        text = opened.page.locator("main").inner_text()
        for words in ("Grave at", "cloth deep in the body", "personal data", "This part needs a script"):
            assert words in text
        pictures = opened.page.locator("main img")
        assert pictures.count() >= 8
        assert opened.errors == []


def test_everything_is_reached_by_keyboard(page: Shown) -> None:
    page.page.evaluate("() => document.activeElement.blur()")
    reached = set()
    for _ in range(90):
        page.page.keyboard.press("Tab")
        reached.add(
            page.page.evaluate(
                """() => {
                  const here = document.activeElement;
                  return here.closest('[data-slider]')?.dataset.slider 
                    ?? here.ariaLabel ?? here.textContent.slice(0, 50);
                }"""
            )
        )
    assert {"belly", "girth", "tall"} <= reached
    assert any("skin shows" in words or "deep in the body" in words for words in reached)
    assert any(words.startswith("Garments, the worst first") for words in reached)


@pytest.mark.parametrize("size", SIZES)
def test_the_body_fills_the_picture_when_the_report_is_opened(mailed: Mailed, size: str) -> None:
    with mailed.open(size=SIZES[size]) as opened:
        opened.ready()
        view = opened.page.evaluate("() => window.dressform.view()")
        height = np.ptp(opened.positions("")[:, 1])
        seen = 2 * np.linalg.norm(np.subtract(view["position"], view["target"])) * np.tan(np.radians(FIELD_DEGREES / 2))
        assert 0.8 < height / seen < 1.0


def test_a_slider_is_turned_by_the_arrow_keys(mailed: Mailed, page: Shown) -> None:
    slider = page.page.locator('[data-slider="belly"] input[type=range]')
    slider.focus()
    slider.press("End")
    page.until("() => window.dressform.weights()[0] === 1")
    page.settle()
    np.testing.assert_allclose(page.positions(""), mailed.scene.body.at(np.array([1.0, 0.0, 0.0])), atol=SAME)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_stands_in_the_way_of_people_who_see_or_move_otherwise(mailed: Mailed, scheme: str) -> None:
    with mailed.open(color_scheme=scheme, bypass_csp=True) as opened:
        opened.ready()
        assert opened.axe() == []


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_every_screen(mailed: Mailed, size: str, scheme: str) -> None:
    with mailed.open(size=SIZES[size], color_scheme=scheme) as opened:
        opened.ready()
        assert opened.page.evaluate("() => document.documentElement.scrollWidth") <= SIZES[size][0]
        opened.look(f"report-{size}-{scheme}")
        opened.page.locator("#dressform").scroll_into_view_if_needed()
        opened.settle()
        opened.look(f"report-{size}-{scheme}-live")
        assert opened.errors == []


def test_it_prints_what_can_be_printed(mailed: Mailed, tmp_path: Path) -> None:
    with mailed.open() as opened:
        opened.ready()
        opened.page.emulate_media(media="print")
        assert not opened.page.locator("#dressform").is_visible()
        assert opened.page.locator(".r-cautions").get_by_text("personal data").is_visible()
        printed = Path(LOOKS or tmp_path) / "report.pdf"
        opened.page.pdf(path=str(printed), format="A4")
        assert printed.read_bytes().startswith(b"%PDF")
        assert len(re.findall(rb"/Type\s*/Page[^s]", printed.read_bytes())) <= 4  # two garments
