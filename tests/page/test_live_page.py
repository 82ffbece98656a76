"""The live page as it is looked at: in a real browser, served by this process, checked over its range."""

from collections.abc import Iterator

import numpy as np
import pytest

from livepage import KEY
from livetools import SAME, Running, complaints, open_tab, type_weight
from pagetools import DESKTOP, PHONE, TABLET, Shown

pytestmark = [pytest.mark.browser, pytest.mark.long]


@pytest.fixture
def running(checked: Running) -> Running:
    return checked


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


def test_the_first_step_is_one_filled_button_that_leads_to_the_gravest_complaint(running: Running, page: Shown) -> None:
    complaints(page)
    filled = page.page.locator("button.filled:visible")
    assert filled.all_inner_texts() == ["Show me the worst"]
    first = running.server.hub.about().clusters[0]
    filled.click()
    page.page.locator(f'li.open[data-cluster="{first.id}"]').wait_for()
    page.until("(wanted) => String(window.dressform.weights()) === String(wanted)", list(first.shape.weights))
    assert filled.count() == 0


def test_the_base_that_is_clean_is_not_called_clean_while_other_shapes_are_grave(page: Shown) -> None:
    complaints(page)
    page.page.locator(".verdict-line").get_by_text("clean at this shape, grave at others").wait_for()


def test_shape_layer_place_and_view_outlive_a_reload(running: Running, page: Shown) -> None:
    complaints(page).nth(1).click()
    type_weight(page, "wider", 0.37)
    page.page.get_by_role("group", name="Look from").get_by_role("button", name="Back").click()
    seen = "() => JSON.stringify([window.dressform.weights(), location.hash])"
    page.page.wait_for_timeout(1500)  # the camera comes to rest, and the address with it
    before = page.page.evaluate(seen)
    assert "slider.wider=0.37" in before
    page.page.reload()
    page.ready()
    assert page.page.evaluate(seen) == before
    second = running.server.hub.about().clusters[1]
    assert page.page.locator("li.open").get_attribute("data-cluster") == second.id
    assert page.page.locator("canvas.threads").is_hidden()  # near by, which a page that was loaded there did not know
    assert page.page.evaluate("() => window.dressform.view().position[2]") < second.place.position_m[2]


def test_a_number_beyond_the_range_is_seen_to_be_taken_into_it(page: Shown) -> None:
    number = page.page.locator('[data-slider="belly"] input[type=number]')
    for way_out in ("Enter", "Tab"):
        number.fill("7")
        number.press(way_out)
        assert number.input_value() == "1.00"
        page.page.get_by_text("The range is 0.00 to 1.00.").wait_for()
    assert page.weights()[1] == 1.0


def test_threads_are_drawn_while_the_whole_body_is_seen_and_not_near_by(page: Shown) -> None:
    drawn = """() => {
      const canvas = document.querySelector("canvas.threads");
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      return data.some((value) => value > 0);
    }"""
    page.until(drawn)
    views = page.page.get_by_role("group", name="Look from")
    views.get_by_role("button", name="Up close").click()
    page.page.locator("canvas.threads").wait_for(state="hidden")  # what is only cleared, a browser may show again
    views.get_by_role("button", name="Whole body").click()
    page.until(drawn)


def test_the_page_has_landmarks_a_heading_and_a_picture_in_words(page: Shown) -> None:
    assert page.page.get_by_role("main").count() == 1
    assert page.page.get_by_role("banner").get_by_role("heading", level=1).inner_text() == "dressform"
    picture = page.page.get_by_role("application", name="Picture of the dressed body")
    type_weight(page, "belly", 1.0)
    page.page.get_by_text("at belly 1; worn: tube; seen from the front; in its own colours").wait_for(state="attached")
    told = page.page.evaluate(
        "(id) => document.getElementById(id).textContent", picture.get_attribute("aria-describedby")
    )
    assert "The body woman at belly 1" in told
    assert "arrows turn" in told


def test_only_settled_verdicts_are_spoken(page: Shown) -> None:
    live = page.page.locator(".verdict [aria-live]")
    page.page.evaluate(
        """() => {
          const live = document.querySelector(".verdict [aria-live]");
          window.spoken = [];
          new MutationObserver(() => window.spoken.push(live.textContent)).observe(live, { childList: true });
        }"""
    )
    type_weight(page, "belly", 0.2)
    type_weight(page, "belly", 0.9)
    live.get_by_text("At belly 0.9").wait_for(state="attached")
    spoken = page.page.evaluate("() => window.spoken")
    assert all("measuring" not in words for words in spoken)


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
    panel = open_tab(page, "Compare")
    panel.get_by_label("Version to make").select_option(label="following the nearest body vertex")
    panel.get_by_role("button", name="Make it and compare").click()
    panel.get_by_text("At this shape", exact=True).or_(panel.get_by_text("Neither has a fault")).wait_for()
    page.look("beside")
    panel.get_by_role("button", name="Wipe").click()
    wipe = page.page.get_by_role("slider", name="Where the wipe stands")
    wipe.focus()
    wipe.press("ArrowRight")
    assert wipe.get_attribute("aria-valuenow") == "52"
    panel.get_by_role("button", name="End comparison").click()
    assert wipe.is_hidden()


def test_a_target_measure_finds_its_shape(page: Shown) -> None:
    panel = open_tab(page, "Tape")
    panel.get_by_label("stature, target in cm").fill("170")
    panel.get_by_role("button", name="Find the nearest shape").click()
    panel.get_by_text("Every target is met within 0.5 cm.").wait_for()


def test_a_pose_moves_the_body_and_goes_back(running: Running, page: Shown) -> None:
    panel = open_tab(page, "Pose")
    panel.get_by_role("combobox", name="Animation").select_option(label="nod")
    panel.get_by_role("button", name="Next key").click()
    page.until(
        "(rest) => window.dressform.positions('').some((value, i) => Math.abs(value - rest[i]) > 1e-2)",
        running.body().vertices.ravel().tolist(),
    )
    panel.get_by_role("button", name="Back to the modelled pose").click()
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
    for wanted in ("belly", "Picture of the dressed body", "Worst shape", "Faults", "Help", "Up close", "Base body"):
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
    page.page.get_by_role("dialog", name="Help").wait_for()
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
def test_every_tab_is_accessible_and_nothing_sticks_out_sideways(
    running: Running, size: tuple[int, int], scheme: str
) -> None:
    with running.open(size=size, color_scheme=scheme) as page:
        page.ready()
        if size == PHONE:
            open_tab(page, "Faults")
        complaints(page)
        found = []
        for name in [tab.inner_text() for tab in page.page.get_by_role("tab").all()]:
            open_tab(page, name)
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


def test_token_leaves_the_address_and_a_reload_needs_none(running: Running) -> None:
    token = running.server.guard.token
    with running.open() as page:
        page.ready()
        assert token not in page.page.url
        assert page.page.url.split("#")[0] == f"{running.server.origin}/"
        assert token not in page.page.content()
        page.page.reload()
        page.ready()
        assert token not in page.page.url
        assert page.page.context.cookies() == []
        page.page.evaluate("() => sessionStorage.clear()")
        page.page.reload()
        page.page.get_by_role("alert").get_by_text("This address lacks the token of the program.").wait_for()


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
        page.get_by_role("alert").get_by_text("cannot draw in three dimensions").wait_for()
    finally:
        context.close()
