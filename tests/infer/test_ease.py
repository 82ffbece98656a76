"""What is expected of ease on an even tube round a straight body, where room, rim and scatter have closed forms."""

import numpy as np
import pytest

from dressform.garment.garment import Garment
from dressform.infer.cloth import RIM, AskedCloth, ask_cloth
from dressform.infer.ease import CLOSE_SHARE, LOCAL, LOCAL_SHARE, LOOSE, RIM_LOCAL, WIDE_SHARE, EaseModel, ease_model
from dressform.infer.skin import ShapedSkin, SkinView
from phantoms import RADIUS, phantom_body, tube

CLEARANCE, BOTTOM, TOP = 0.02, 0.7, 1.2
SIDES, RINGS = 24, 21


def even_tube() -> tuple[Garment, AskedCloth, SkinView]:
    """A tube at one distance from the capsule, every vertex of it asked."""
    vertices, faces = tube(clearance=CLEARANCE, bottom=BOTTOM, top=TOP, rings=RINGS, sides=SIDES)
    garment = Garment.of("tube", vertices, faces)
    look = ShapedSkin(phantom_body(sides=96)).look(vertices, np.zeros(3))
    return garment, ask_cloth(garment, np.arange(len(vertices)), look), look


@pytest.fixture(scope="module")
def even() -> tuple[Garment, AskedCloth, SkinView]:
    return even_tube()


@pytest.fixture(scope="module")
def model(even: tuple[Garment, AskedCloth, SkinView]) -> EaseModel:
    _, cloth, look = even
    return ease_model(cloth, look, np.zeros(len(cloth.points)), np.zeros(len(cloth.points)))


def test_the_rim_falls_as_a_bell_of_3_cm_from_each_opening(even: tuple[Garment, AskedCloth, SkinView]) -> None:
    garment, cloth, _ = even
    away = np.minimum(garment.vertices[:, 1] - BOTTOM, TOP - garment.vertices[:, 1])
    assert np.allclose(cloth.rim, np.exp(-0.5 * (away / RIM) ** 2), atol=1e-9)
    lower = garment.vertices[:, 1] < (BOTTOM + TOP) / 2 - 0.01
    assert cloth.openings.shape[1] == 3
    assert np.allclose(cloth.openings[lower, 1:].max(axis=1), cloth.rim[lower])
    assert np.allclose(cloth.openings[lower, 1:].min(axis=1), 0)


def test_a_local_mean_of_a_constant_is_that_constant(even: tuple[Garment, AskedCloth, SkinView]) -> None:
    _, cloth, _ = even
    assert np.allclose(cloth.around.sum(axis=1), 1)
    assert cloth.around.min() >= 0


def test_a_local_mean_looks_6_cm_about_itself(even: tuple[Garment, AskedCloth, SkinView]) -> None:
    """Along the straight tube normals do not turn, so weights of one column fall as a bell of 6 cm."""
    garment, cloth, _ = even
    column = np.flatnonzero(np.isclose(garment.vertices[:, 0], 0) & (garment.vertices[:, 2] > 0))
    middle = column[RINGS // 2]
    away = garment.vertices[column, 1] - garment.vertices[middle, 1]
    found = cloth.around[middle, column] / cloth.around[middle, middle]
    assert np.allclose(found, np.exp(-0.5 * (away / 0.06) ** 2), rtol=1e-3, atol=1e-9)


def test_even_room_is_even_at_the_openings_too(model: EaseModel, even: tuple[Garment, AskedCloth, SkinView]) -> None:
    """The scatter of a point is that of its room, and at an opening that of the rim on top."""
    _, cloth, look = even
    assert look.clearance == pytest.approx(CLEARANCE, abs=2e-4)
    freedom = CLEARANCE * (1 + CLEARANCE / LOOSE)
    squares = LOCAL**2 + (LOCAL_SHARE * freedom) ** 2 + (RIM_LOCAL * cloth.rim) ** 2
    assert model.scatter == pytest.approx(np.sqrt(squares), rel=0.02)


def test_ease_that_is_even_is_one_amount_of_the_constant_pattern(model: EaseModel) -> None:
    assert (model.patterns[:, 0] == 1).all()
    assert np.abs(model.patterns[:, 1:3]).max() == 0  # neither hollow nor overhang
    assert np.abs(model.patterns[:, 3]).max() < 1e-3 * RADIUS  # nothing faces up
    assert model.precision[0] == pytest.approx(1 / 0.05**2)


def test_hollows_and_overhangs_count_up_to_the_room_that_there_is(even: tuple[Garment, AskedCloth, SkinView]) -> None:
    _, cloth, look = even
    count = len(cloth.points)
    found = ease_model(cloth, look, np.full(count, 0.5), np.full(count, 0.004))
    assert found.patterns[:, 1] == pytest.approx(CLEARANCE, abs=3e-4)
    assert found.patterns[:, 2] == pytest.approx(0.004)


def test_ease_varies_more_over_the_garment_than_from_panel_to_panel(
    model: EaseModel, even: tuple[Garment, AskedCloth, SkinView]
) -> None:
    """Each pattern is its correlation's times its share of what cloth with this room is free to do."""
    _, cloth, _ = even
    freedom = CLEARANCE * (1 + CLEARANCE / LOOSE)
    wide, close = (cloth.is_wide == kind for kind in (1.0, 0.0))
    own = model.patterns[:, 4 : 4 + len(cloth.is_wide)]
    assert wide.any()
    assert close.any()
    for chosen, share in ((wide, WIDE_SHARE), (close, CLOSE_SHARE)):
        size = np.linalg.norm(freedom * share * cloth.patterns[:, chosen])
        assert np.linalg.norm(own[:, chosen]) == pytest.approx(size, rel=0.02)
