"""The live page as it is worked with: what is altered, painted, saved, and what remains when the program ends."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from dressform.formats.following_file import read_following
from dressform.formats.results.failed import FailedGarment
from livepage import KEY, opened, served
from livetools import Running, live, open_tab, type_weight
from pagetools import TABLET, Shown, shown

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with live(tmp_path_factory.mktemp("page")) as running:
        yield running


@pytest.fixture
def page(running: Running) -> Iterator[Shown]:
    """The page at a desk; whatever a test does there, nothing may be complained of."""
    with running.open(size=TABLET) as fresh:
        fresh.ready()
        yield fresh
        assert fresh.errors == []


def test_an_alteration_is_seen_at_once_and_saved_for_the_command_line(running: Running, page: Shown) -> None:
    type_weight(page, "wider", 1.0)
    panel = open_tab(page, "Alter")
    panel.get_by_text("Follows the body").click()
    still = running.fit().base
    page.until(
        "([key, base]) => window.dressform.positions(key).every((value, i) => Math.abs(value - base[i]) < 1e-4)",
        [KEY, still.ravel().tolist()],
    )
    panel.get_by_role("button", name="Save settings").click()
    page.page.get_by_text("Saved in").wait_for()
    assert read_following(running.folder / "follow.toml")["tube"].strength == 0.0
    page.look("altered")
    panel.get_by_role("button", name="Undo all changes").click()
    page.until(
        "([key, base]) => window.dressform.positions(key).some((value, i) => Math.abs(value - base[i]) > 1e-3)",
        [KEY, still.ravel().tolist()],
    )


def test_joint_weights_are_chosen_and_seen_in_a_pose(running: Running, page: Shown) -> None:
    """Undo took the joint weights back, and the form still said the others."""
    has_moved = "([key, was]) => window.dressform.positions(key)?.some((value, i) => Math.abs(value - was[i]) > 1e-3)"
    rest = page.positions(KEY)
    open_tab(page, "Pose").get_by_label("Stance").select_option(label="leaning")
    page.until(has_moved, [KEY, rest.ravel().tolist()])
    page.settle()
    lifted = page.positions(KEY)
    open_tab(page, "Alter").get_by_label("Joint weights").select_option(label="one joint")
    page.until(has_moved, [KEY, lifted.ravel().tolist()])
    session = running.server.hub.session
    assert session.following(session.variant(KEY)).joint_weights == "one-joint"
    open_tab(page, "Alter").get_by_role("button", name="Undo all changes").click()
    page.until("() => document.querySelector('.joint-weights select').value === 'own'")


def test_a_stroke_of_the_brush_changes_the_strength_under_it(running: Running, page: Shown) -> None:
    panel = open_tab(page, "Alter")
    panel.get_by_role("button", name="Paint strength").click()
    panel.get_by_label("Brush radius, as a number").fill("150")
    panel.get_by_label("Brush radius, as a number").press("Enter")
    box = page.page.locator("canvas.picture").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.page.mouse.move(x, y)
    page.page.mouse.down()
    page.page.mouse.move(x + 10, y)
    page.page.mouse.up()
    panel.get_by_text("This garment has painted strength").wait_for()
    session = running.server.hub.session
    mask = session.following(session.variant(KEY)).mask
    assert mask is not None
    assert mask.min() < 0.5
    assert mask.max() == 1.0
    panel.get_by_role("button", name="Undo all changes").click()
    page.page.wait_for_timeout(500)


def test_a_case_keeps_shape_view_note_and_picture(running: Running, page: Shown) -> None:
    type_weight(page, "belly", 0.6)
    panel = open_tab(page, "Save and export")
    panel.get_by_label("Note").fill("The hem gapes over the belly.")
    panel.get_by_role("button", name="Save case").click()
    page.page.get_by_text("Saved as").wait_for()
    (file,) = (running.folder / "cases").iterdir()
    case = json.loads(file.read_text(encoding="utf-8"))
    assert case["note"] == "The hem gapes over the belly."
    assert case["shape"]["weights"] == {"belly": 0.6}
    assert case["picture"].startswith("iVBOR")  # base64 of a PNG's first bytes


def test_a_page_whose_program_ends_says_so(tmp_path: Path, running: Running) -> None:
    torn = FailedGarment(name="torn", file="/srv/torn.glb", stage="read", reason="/srv/torn.glb: ends early.")
    with served(opened(tmp_path, failed=(torn,))) as server:
        address = f"{server.origin}/?token={server.guard.token}"
        opening = shown(running.browser, address)
        page = opening.__enter__()
        page.ready()
        page.page.locator(".verdict-line").get_by_text("clean").wait_for()
        page.page.get_by_text("torn: not read: torn.glb: ends early.").wait_for()
        page.page.get_by_label("Close this message").click()
    try:
        page.page.get_by_text("The program behind this page has ended.").wait_for()
        page.page.get_by_role("button", name="Connect again").wait_for()
        page.page.wait_for_timeout(500)
        assert page.page.locator(".notice").count() == 1
        assert page.page.get_by_text("measuring").count() == 0
        assert page.page.locator('[data-slider="belly"]').evaluate("(row) => row.inert")
    finally:
        opening.__exit__(None, None, None)
