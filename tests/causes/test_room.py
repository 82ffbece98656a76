"""The room that a tight place is let out to."""

import numpy as np
import pytest

from dressform.causes.room import AROUND, CLOSE, room_around
from dressform.garment.garment import Garment
from meshes import sheet

MARGIN = 0.002


def cloth() -> Garment:
    vertices, faces = sheet(41)
    return Garment.of("sheet", 0.4 * vertices / np.ptp(vertices[:, 0]), faces)


def test_a_garment_with_room_everywhere_keeps_what_it_has() -> None:
    garment = cloth()
    clearance = np.full(len(garment.vertices), 0.009)
    assert np.array_equal(room_around(garment, clearance, MARGIN), clearance)


def test_a_tight_spot_is_let_out_to_what_the_cloth_around_it_has() -> None:
    garment = cloth()
    away = np.linalg.norm(garment.vertices - garment.vertices.mean(axis=0), axis=1)
    clearance = np.where(away < 0.05, -0.003, 0.010)
    room = room_around(garment, clearance, MARGIN)
    assert room == pytest.approx(np.full(len(room), 0.010), abs=1e-4)


def test_room_that_slopes_around_a_tight_spot_is_bridged_along_the_slope() -> None:
    garment = cloth()
    x = garment.vertices[:, 0]
    slope = 0.006 + 0.008 * (x - x.min()) / np.ptp(x)
    away = np.linalg.norm(garment.vertices - garment.vertices.mean(axis=0), axis=1)
    room = room_around(garment, np.where(away < 0.05, 0.0, slope), MARGIN)
    assert room == pytest.approx(slope, abs=5e-4)


def test_a_garment_tight_all_over_gets_the_margin() -> None:
    garment = cloth()
    room = room_around(garment, np.full(len(garment.vertices), -0.01), MARGIN)
    assert room == pytest.approx(np.full(len(room), MARGIN))


def test_a_tight_spot_in_loose_cloth_is_let_out_to_close_cloth_only() -> None:
    garment = cloth()
    away = np.linalg.norm(garment.vertices - garment.vertices.mean(axis=0), axis=1)
    room = room_around(garment, np.where(away < 0.05, 0.0, 0.09), MARGIN)
    assert room[away < 0.05].max() <= MARGIN + CLOSE
    assert np.array_equal(room[away > 0.06 + AROUND], np.full((away > 0.06 + AROUND).sum(), 0.09))
