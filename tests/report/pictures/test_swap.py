"""Before and after stand side by side, seen alike and coloured by one scale."""

import numpy as np

from dressform.faults.places import make_place
from dressform.faults.results import Place, ShapeFields
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.report.pictures.faults import Appearance
from dressform.report.pictures.swap import PANEL, Swapped, swap_picture
from phantoms import phantom_body, phantom_tube

BODY = phantom_body()
GARMENT = phantom_tube()
FIT = Fit(BODY, GARMENT, DEFAULT_FOLLOWING, GARMENT.vertices, np.zeros((3, len(GARMENT.vertices), 3)))
GREEN = Appearance(np.tile([0.1, 0.6, 0.2], (len(GARMENT.vertices), 1)), np.zeros(len(GARMENT.vertices)))


def side(words: str, *, exposed: float = 0.0, depth: float = 0.0) -> Swapped:
    spot = np.exp(-(((BODY.vertices - [0, 1, 0.16]) / 0.08) ** 2).sum(axis=1))
    on_cloth = np.exp(-(((GARMENT.vertices - [0, 1, 0.18]) / 0.08) ** 2).sum(axis=1))
    none = np.zeros(len(GARMENT.vertices))
    pushed = BODY.vertices + exposed * 0.06 * spot[:, None] * [0.0, 0.0, 1.0]
    hidden = np.abs(BODY.vertices[:, 1] - 0.95) < 0.3
    layers = {"exposed": exposed * (spot > 0.4), "in_front": 0.0 * spot, "depth": depth * on_cloth}
    layers |= dict.fromkeys(("pucker", "stretch", "clearance_change"), none)
    fields = ShapeFields(pushed, GARMENT.vertices, hidden, layers)
    return Swapped(BODY, FIT, GREEN, fields, words)


def place(fault: str) -> Place:
    vertices = BODY.vertices if fault == "exposed" else GARMENT.vertices
    vertex = int(np.argmax(vertices[:, 2] - abs(vertices[:, 1] - 1)))
    position = tuple(float(x) for x in vertices[vertex])
    return make_place(
        position,
        vertex,
        region="belly",
        part="tube",
        side="front middle",
        height=1.0,
        area=1e-3,
        fault=fault,
        severity="grave",
        value=0.004,
    )


def orange(image: np.ndarray) -> int:
    values = image.astype(int)
    return int(((values[..., 0] - values[..., 2] > 110) & (values[..., 0] > 150)).sum())


def halves(image: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Both panels, without what is written above and below them."""
    inner = image[100 : 90 + PANEL[1]]
    return inner[:, : PANEL[0]], inner[:, -PANEL[0] :]


def test_skin_that_no_longer_shows_is_lit_on_the_left_alone() -> None:
    image = swap_picture(side("as it is", exposed=1.0), side("swapped"), place("exposed"), extent=0.05, title="tube")
    assert image.shape[1] == 2 * PANEL[0] + 4
    left, right = halves(image)
    assert orange(left) > 2000
    assert orange(right) == 0


def test_both_sides_have_one_scale() -> None:
    deep, half = (side("", depth=depth) for depth in (0.010, 0.005))
    image = swap_picture(deep, half, place("depth"), extent=0.05, title="tube")
    left, right = (panel.astype(int) for panel in halves(image))
    blueness = [np.percentile(panel[..., 2] - panel[..., 0], 99) for panel in (left, right)]
    assert blueness[0] > 1.4 * blueness[1] > 15


def test_a_larger_place_is_seen_from_farther_away_within_bounds() -> None:
    near, far, farther = (
        swap_picture(side("", exposed=1.0), side(""), place("exposed"), extent=extent, title="tube")
        for extent in (0.01, 0.08, 8.0)
    )
    assert orange(halves(near)[0]) > 2 * orange(halves(far)[0])
    assert np.array_equal(far, farther)


def test_lines_stand_below() -> None:
    plain, lettered = (
        swap_picture(side(""), side(""), place("exposed"), extent=0.05, title="tube", lines=lines)
        for lines in ((), ("one", "two"))
    )
    assert lettered.shape[0] > plain.shape[0] + 40
