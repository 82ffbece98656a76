"""The live page as it is looked at: in a real browser, served by this process, checked over its range."""

from collections.abc import Iterator

import numpy as np
import pytest

from livepage import KEY
from livetools import SAME, Running, complaints, leaf, live, type_weight
from pagetools import DESKTOP, PHONE, TABLET, Shown

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with live(tmp_path_factory.mktemp("page")) as running:
        running.server.hub.start_check()
        yield running


@pytest.fixture
def page(running: Running) -> Iterator[Shown]:
    """The page at a desk; whatever a test does there, nothing may be complained of."""
    with running.open(size=TABLET) as fresh:
        fresh.ready()
        yield fresh
        assert fresh.errors == []


def test_what_is_drawn_is_what_the_library_says_at_typed_weights(running: Running, page: Shown) -> None:
    np.testing.assert_allclose(page.positions(""), running.body().vertices, atol=SAME)
    type_weight(page, "wider", 0.37)
    type_weight(page, "belly", 0.81)
    weights = running.body().weights({"wider": 0.37, "belly": 0.81})
    np.testing.assert_allclose(page.positions(""), running.body().at(weights), atol=SAME)
    np.testing.assert_allclose(page.positions(KEY), running.fit().at(weights), atol=SAME)


def test_of_a_hundred_quick_turns_the_last_is_drawn(running: Running, page: Shown) -> None:
    page.page.evaluate(
        """() => {
          const tape = document.querySelector('[data-slider="belly"] input[type=range]');
          for (let turn = 0; turn < 100; turn++) {
            tape.value = String((turn * 37 % 100) / 100);
            tape.dispatchEvent(new Event("input"));
          }
          tape.value = "0.55";
          tape.dispatchEvent(new Event("input"));
        }"""
    )
    wanted = running.body().at(running.body().weights({"belly": 0.55}))
    page.until(
        "(wanted) => window.dressform.positions('').every((value, i) => Math.abs(value - wanted[i]) < 1e-4)",
        wanted.ravel().tolist(),
    )
    assert page.weights() == [0.0, 0.55]


def test_another_base_body_is_another_body(running: Running, page: Shown) -> None:
    page.page.get_by_label("Base body").select_option(label="man")
    page.until("() => Math.max(...window.dressform.positions('')) > 1.75")
    np.testing.assert_allclose(page.positions(""), running.body(1).vertices, atol=SAME)


def test_a_click_on_a_complaint_goes_to_its_worst_shape_and_place(running: Running, page: Shown) -> None:
    head = complaints(page).first
    first = running.server.hub.about().clusters[0]
    before = page.page.evaluate("() => window.dressform.view().target")
    head.click()
    page.until("(wanted) => String(window.dressform.weights()) === String(wanted)", first.shape.weights)
    page.until(
        "(wanted) => window.dressform.view().target.every((value, i) => Math.abs(value - wanted[i]) < 1e-3)",
        first.place.position_m,
    )
    assert head.get_attribute("aria-expanded") == "true"
    assert before != first.place.position_m
    page.look("complaint")


def test_a_layer_is_told_with_its_unit_and_a_value_under_the_pointer(page: Shown) -> None:
    page.page.locator(".layers").get_by_text("clearance", exact=True).click()
    legend = page.page.get_by_role("group", name="Legend")
    legend.get_by_text("in mm").wait_for()
    page.page.wait_for_timeout(600)
    box = page.page.locator("canvas.picture").bounding_box()
    page.page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    note = page.page.locator(".pointer-note")
    note.get_by_text("mm").wait_for()
    assert "tube" in note.inner_text()
    page.look("layer")


def test_two_versions_stand_side_by_side_or_under_a_wipe_with_figures(page: Shown) -> None:
    panel = leaf(page, "Compare")
    panel.get_by_label("Version to make").select_option(label="following the nearest vertex")
    panel.get_by_role("button", name="Make it and compare").click()
    panel.get_by_text("At this shape", exact=True).or_(panel.get_by_text("Neither has a fault")).wait_for()
    page.look("beside")
    panel.get_by_role("button", name="Wipe").click()
    wipe = page.page.get_by_role("slider", name="Where the wipe stands")
    wipe.focus()
    wipe.press("ArrowRight")
    assert wipe.get_attribute("aria-valuenow") == "52"
    panel.get_by_role("button", name="Leave off").click()
    assert wipe.is_hidden()


def test_a_tape_that_is_wished_for_finds_its_shape(page: Shown) -> None:
    panel = leaf(page, "Tape")
    panel.get_by_label("stature wished for, cm").fill("170")
    panel.get_by_role("button", name="Find the nearest shape").click()
    panel.get_by_text("Every measure is met within 5 mm.").wait_for()


def test_a_pose_moves_the_body_and_goes_back(running: Running, page: Shown) -> None:
    panel = leaf(page, "Pose")
    panel.get_by_label("Play").select_option(label="nod")
    panel.get_by_role("button", name="Next key").click()
    page.until(
        "(rest) => window.dressform.positions('').some((value, i) => Math.abs(value - rest[i]) > 1e-2)",
        running.body().vertices.ravel().tolist(),
    )
    panel.get_by_role("button", name="As modelled").click()
    page.until(
        "(rest) => window.dressform.positions('').every((value, i) => Math.abs(value - rest[i]) < 1e-4)",
        running.body().vertices.ravel().tolist(),
    )


def test_everything_is_reached_by_keyboard(page: Shown) -> None:
    complaints(page)
    keyboard = page.page.keyboard
    page.page.evaluate("() => document.activeElement.blur()")
    names = set()
    for _ in range(60):
        keyboard.press("Tab")
        names.add(
            page.page.evaluate(
                "() => document.activeElement.ariaLabel ?? document.activeElement.textContent.slice(0, 60)"
            )
        )
    told = " ".join(map(str, names))
    for wanted in ("belly", "The body, dressed", "Worst shape", "Faults", "Keys", "Base body"):
        assert wanted in told
    page.page.locator('[data-slider="belly"] input[type=range]').focus()
    keyboard.press("End")
    page.until("() => window.dressform.weights()[1] === 1")
    keyboard.press("b")
    page.until("() => window.dressform.weights()[1] === 0")
    keyboard.press("n")
    page.page.locator("li.open button.complaint").wait_for()
    page.page.locator("canvas.picture").focus()
    before = page.page.evaluate("() => window.dressform.view().position")
    keyboard.press("ArrowLeft")
    page.until("(before) => String(window.dressform.view().position) !== String(before)", before)
    keyboard.press("?")
    page.page.get_by_role("dialog", name="Keys and words").wait_for()
    keyboard.press("Escape")
    page.page.get_by_role("tab", name="Faults", exact=True).focus()
    keyboard.press("ArrowRight")
    page.page.get_by_role("tabpanel", name="Range", exact=True).wait_for()


@pytest.mark.node
@pytest.mark.parametrize(
    ("size", "scheme"),
    [(DESKTOP, "light"), (DESKTOP, "dark"), (TABLET, "light"), (PHONE, "dark")],
    ids=["desk, light", "desk, dark", "tablet, light", "phone, dark"],
)
def test_every_leaf_is_accessible_and_nothing_sticks_out_sideways(
    running: Running, size: tuple[int, int], scheme: str
) -> None:
    with running.open(size=size, color_scheme=scheme) as page:
        page.ready()
        if size == PHONE:
            leaf(page, "Faults")
        complaints(page)
        found = []
        for name in [tab.inner_text() for tab in page.page.get_by_role("tab").all()]:
            leaf(page, name)
            found += [f"{name}: {line}" for line in page.axe()]
            if page.page.evaluate("() => document.documentElement.scrollWidth > window.innerWidth"):
                found.append(f"{name}: wider than the window")
            page.look(f"{size[0]}-{scheme}-{name.lower()}")
        assert found == []
        assert page.errors == []


def test_those_who_want_no_movement_get_none(running: Running) -> None:
    with running.open(reduced_motion="reduce") as page:
        page.ready()
        complaints(page).first.click()
        page.settle()
        wanted = running.server.hub.about().clusters[0].place.position_m
        np.testing.assert_allclose(page.page.evaluate("() => window.dressform.view().target"), wanted, atol=1e-6)


def test_a_browser_that_draws_nothing_in_three_dimensions_says_so(running: Running) -> None:
    nothing = (
        "const real = HTMLCanvasElement.prototype.getContext;"
        "HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {"
        " return kind.startsWith('webgl') ? null : real.call(this, kind, ...rest); };"
    )
    context = running.browser.new_context()
    try:
        page = context.new_page()
        page.add_init_script(nothing)
        page.goto(f"{running.server.origin}/?token={running.server.guard.token}")
        page.get_by_role("alert").get_by_text("draws no three-dimensional pictures").wait_for()
    finally:
        context.close()
