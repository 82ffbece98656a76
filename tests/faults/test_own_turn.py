"""How cloth turns beside the cloth around it."""

from dataclasses import replace

import numpy as np
import pytest

import lift_phantoms
from dressform.faults.bent import NARROW, NARROW_SHARE
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.own_turn import AROUND, OwnTurn
from dressform.faults.percentiles import reached
from dressform.faults.severity import DEFAULT_BANDS
from dressform.fit.make import make_fit
from dressform.garment.parts import seam_leaders
from dressform.mesh.geometry import vertex_areas
from dressform.repair.whole.rigid import fit_turned
from fault_meshes import quarter, sheet


def departures(cloth: np.ndarray, made: np.ndarray, faces: np.ndarray) -> np.ndarray:
    return OwnTurn(made, faces, np.arange(len(made))).departure(cloth, np.ones(len(made), dtype=bool))


def spin(angle: float) -> np.ndarray:
    """A turn around the z axis."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


@pytest.mark.parametrize("angle", [0.2, 1.5, 3.0])
def test_cloth_that_turns_as_a_whole_does_not_turn_beside_itself(angle: float) -> None:
    made, faces = sheet(0.2, count=20)
    waves = made + 0.01 * np.sin(40.0 * made[:, :1]) * np.array([0.0, 1.0, 0.0])
    assert departures(waves @ spin(angle).T, waves, faces).max() < 1e-9


def roofed(made: np.ndarray, slope: float) -> np.ndarray:
    return made - slope * np.abs(made[:, :1]) * np.array([0.0, 1.0, 0.0])


def test_far_from_the_ridge_a_roof_turns_as_the_cloth_around_it() -> None:
    """At the distance d from the ridge the other side is ½ e^(−d ÷ reach) of the average."""
    made, faces = sheet(0.8, count=80)
    slope, inside = 0.2, np.abs(made[:, 2]) < 0.1
    found = departures(roofed(made, slope), made, faces)
    for away in (0.02, 0.05, 0.1):
        there = inside & np.isclose(np.abs(made[:, 0]), away)
        other = 0.5 * np.exp(-away / AROUND)
        meant = np.arctan((1.0 - 2.0 * other) * slope)
        assert found[there] == pytest.approx(np.full(there.sum(), np.arctan(slope) - meant), rel=0.03)


def test_refining_cloth_keeps_how_it_turns_beside_itself() -> None:
    made, faces = sheet(0.4, count=40)
    fine, quarters = quarter(made, faces)
    off = np.abs(made[:, 0]) > 0.015
    coarse, found = departures(roofed(made, 0.3), made, faces), departures(roofed(fine, 0.3), fine, quarters)
    assert np.abs(found[: len(made)] - coarse)[off].max() < 0.01


def test_cloth_cut_along_a_seam_turns_as_if_it_were_sewn() -> None:
    made, faces = sheet(0.2, count=20)
    cloth, around = roofed(made, 0.3), departures(roofed(made, 0.3), made, faces)
    apart, torn = faces.ravel(), np.arange(faces.size).reshape(-1, 3)
    leaders = seam_leaders(made[apart], torn)
    cut = OwnTurn(made[apart], torn, leaders).departure(cloth[apart], np.ones(len(apart), dtype=bool))
    assert np.abs(cut - around[apart]).max() < 1e-9
    assert around.max() > 0.1


def test_a_stiff_stall_on_a_finger_that_curls_is_not_folded() -> None:
    """It keeps the form that it was made with; it was moderate, since its rim turns farther than the skin there."""
    fit = make_fit(lift_phantoms.finger(), lift_phantoms.stall())
    tip = np.flatnonzero(fit.body.vertices[:, 1] > 0.09)
    turned = fit_turned(fit.body.vertices[tip], np.ones(len(tip)), fit.body.deltas[:, tip], np.ones(1))
    worn = GarmentOnBody(replace(fit, deltas=turned.moves(fit.base)))
    found, turn = worn.measure(np.ones(1)), worn.look(np.ones(1)).bent
    assert NARROW_SHARE * reached(turn, worn.areas, NARROW) > worn.bands["bent"][1]
    assert found.severities["bent"] == "clean"


def test_a_fold_in_a_stiff_stall_is_told() -> None:
    """Turned as a whole, and pinched: what the turn excuses is not the pinch."""
    made, faces = sheet(0.12, count=60)
    x, _, z = made.T
    rise = 0.008 * np.exp(-((x / 0.012) ** 2) - (z / 0.03) ** 4)
    pinched = (made + rise[:, None] * np.array([0.0, 1.0, 0.0])) @ spin(1.0).T
    areas, turn = vertex_areas(made, faces), np.full(len(made), 1.0)
    own = OwnTurn(made, faces, np.arange(len(made)))
    whole, folded = (
        reached(np.minimum(turn, own.departure(cloth, turn > 0.0)), areas, NARROW)
        for cloth in (made @ spin(1.0).T, pinched)
    )
    assert whole < 1e-9
    assert DEFAULT_BANDS.grade("bent", NARROW_SHARE * folded) == "moderate"
