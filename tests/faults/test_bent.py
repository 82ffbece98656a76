"""Cloth that is bent out of shape: turned from where it would face if it followed the body smoothly."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit as lifted
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from fault_meshes import icosphere, make_body, make_fit, quarter, sheet

RADIUS, REACH = 0.3, 0.15


def ball(**deltas: np.ndarray) -> Body:
    vertices, faces = icosphere(RADIUS, level=4)
    return make_body(vertices, faces, **(deltas or {"still": np.zeros(3)}))


def moved(rise: np.ndarray, vertices: np.ndarray, faces: np.ndarray) -> ShapeFaults:
    """A sheet over a still ball, raised."""
    up = np.array([0.0, 1.0, 0.0])
    return GarmentOnBody(make_fit(vertices, faces, ball(), still=rise[:, None] * up)).measure(np.ones(1))


def pyramid(vertices: np.ndarray, slope: float) -> np.ndarray:
    """A square pyramid of this slope."""
    return slope * np.clip(REACH - np.abs(vertices[:, [0, 2]]).max(axis=1), 0.0, None)


@pytest.mark.parametrize("slope", [0.1, 0.3, 0.8])
def test_a_roof_is_bent_by_its_slope(slope: float) -> None:
    vertices, faces = sheet(0.6, count=30, height=RADIUS + 0.02)
    roof = slope * (0.3 - np.abs(vertices[:, 0]))
    assert moved(roof, vertices, faces).broken.bent == pytest.approx(np.arctan(slope), rel=1e-3)


def test_cloth_drawn_out_into_a_pyramid_is_not_clean() -> None:
    vertices, faces = sheet(0.8, count=40, height=RADIUS + 0.02)
    found = moved(pyramid(vertices, 0.35), vertices, faces)
    assert found.severities["bent"] == "moderate"
    place = next(place for place in found.places if place.fault == "bent")
    assert place.unit == "°"
    assert place.value == pytest.approx(np.degrees(np.arctan(0.35)), rel=0.1)


@pytest.mark.parametrize(("height", "severity"), [(0.001, "clean"), (0.003, "slight"), (0.008, "moderate")])
def test_a_single_fold_is_told_by_its_own_turn(height: float, severity: str) -> None:
    """A fold 8 mm high and 5 cm long is seen at once, and was slight: 50 cm² of the cloth do not turn at all."""
    vertices, faces = sheet(0.4, count=80, height=RADIUS + 0.02)
    x, _, z = vertices.T
    found = moved(height * np.exp(-((x / 0.012) ** 2) - (z / 0.025) ** 4), vertices, faces)
    steepest = height / 0.012 * np.sqrt(2 / np.e)
    assert 0.4 * steepest < found.broken.bent < 0.8 * steepest
    assert found.severities["bent"] == severity


def test_refining_cloth_keeps_how_far_it_is_bent() -> None:
    vertices, faces = sheet(0.8, count=40, height=RADIUS + 0.02)
    fine, quarters = quarter(vertices, faces)
    coarse, found = (moved(pyramid(v, 0.35), v, f).broken.bent for v, f in ((vertices, faces), (fine, quarters)))
    assert found == pytest.approx(coarse, rel=0.05)


def test_cloth_that_follows_smoothly_is_not_bent_however_the_body_bends() -> None:
    skin, _ = icosphere(RADIUS, level=4)
    tilt = 0.6 * skin[:, :1] * np.array([0.0, 1.0, 0.0])
    body = ball(tilt=tilt)
    vertices, faces = sheet(0.6, count=30, height=RADIUS + 0.02)
    garment = Garment.of("cloth", vertices, faces)
    assert GarmentOnBody(lifted(body, garment)).measure(np.ones(1)).broken.bent == 0.0
    stays = Fit(body, garment, Following(), vertices, np.zeros((1, *vertices.shape)))
    assert GarmentOnBody(stays).measure(np.ones(1)).broken.bent > np.arctan(0.3)


def test_a_patch_of_a_garment_is_not_judged() -> None:
    vertices, faces = sheet(0.8, count=40, height=RADIUS + 0.02)
    fit = make_fit(vertices, faces, ball(), still=pyramid(vertices, 0.35)[:, None] * np.array([0.0, 1.0, 0.0]))
    whole = GarmentOnBody(fit)
    assert (
        GarmentOnBody(fit, pieces=whole.pieces).measure(np.ones(1)).broken.bent
        == 0.0
        < whole.measure(np.ones(1)).broken.bent
    )


def wavy_ball(times: int) -> Body:
    """A small ball that gets waves, so many times with each triangle as four: the surfaces stay the same."""
    vertices, faces = icosphere(0.075, level=3)
    moved = vertices + 0.12 * np.sin(vertices[:, :1] / 0.012) * vertices
    for _ in range(times):
        (vertices, finer), (moved, _) = quarter(vertices, faces), quarter(moved, faces)
        faces = finer
    return Body("ball", vertices, faces, ("waves",), (moved - vertices)[None], Range.unit(("waves",)))


@pytest.mark.parametrize(("method", "severity"), [("smooth", "clean"), ("surface", "slight")])
def test_skin_in_finer_triangles_keeps_how_far_cloth_is_bent(method: str, severity: str) -> None:
    """Smooth cloth was clean, then slight at 6°, then moderate at 9°: on finer skin smooth following prints more."""
    vertices, faces = sheet(0.12, count=30, height=0.08)
    fit = lifted(wavy_ball(0), Garment.of("cloth", vertices, faces), Following(method=method))
    found = [GarmentOnBody(replace(fit, body=wavy_ball(times))).measure(np.ones(1)) for times in (0, 1, 2)]
    assert [one.severities["bent"] for one in found] == [severity] * 3
    if method == "surface":
        assert found[2].broken.bent == pytest.approx(found[0].broken.bent, rel=0.05)
