"""Broken cloth end to end: each morph breaks one thing, and only that is told."""

import numpy as np
import pytest

from bare import bare_fit
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import DEFAULT_BANDS, make_bands
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.mesh.geometry import face_areas
from fault_meshes import icosphere, make_body
from phantoms import RADIUS, capsule, tube

MORPHS = ("none", "seam", "button", "patch", "fold", "through")
BUTTON_RADIUS = 0.009


@pytest.fixture(scope="module")
def garment():
    """A tube slit open behind and closed by coinciding vertices, with a patch over it and a button on the patch."""
    shell, shell_faces = tube(clearance=0.02, rings=40, sides=60)
    seam = np.arange(40) * 60 + 30  # the column of vertices at the back
    split = np.concatenate([shell, shell[seam]])
    twin = np.arange(len(split))
    twin[seam] = len(shell) + np.arange(40)
    right = split[shell_faces, 0].mean(axis=1) > 0
    shell_faces = np.where(((shell_faces % 60 == 30).any(axis=1) & right)[:, None], twin[shell_faces], shell_faces)
    front = np.flatnonzero((np.abs(shell[:, 0]) < 0.06) & (shell[:, 2] > 0) & (np.abs(shell[:, 1] - 1.0) < 0.08))
    inside = np.isin(shell_faces, front).all(axis=1)
    patch = split[front] * (1 + 0.004 / (RADIUS + 0.02) * np.array([1.0, 0.0, 1.0]))
    patch_faces = np.searchsorted(front, shell_faces[inside])
    button, button_faces = icosphere(BUTTON_RADIUS, level=1, middle=(0.0, 1.0, RADIUS + 0.024 + 2 * BUTTON_RADIUS))
    starts = np.cumsum([0, len(split), len(patch)])
    parts = [shell_faces, patch_faces + starts[1], button_faces + starts[2]]
    vertices = np.concatenate([split, patch, button])
    return Garment(
        "smock",
        vertices,
        np.concatenate(parts),
        ("smock", "patch", "button"),
        np.repeat([0, 1, 2], [len(part) for part in parts]),
        np.ones(len(vertices)),
    )


@pytest.fixture(scope="module")
def check(garment):
    body = make_body(*capsule(), **{name: np.zeros(3) for name in MORPHS})
    vertices, parts = garment.vertices, garment.vertex_parts()
    moves = {name: np.zeros_like(vertices) for name in MORPHS}
    twins = (np.arange(len(vertices)) >= 40 * 60) & (parts == 0)
    moves["seam"][(vertices[:, 0] > 1e-9) & (parts == 0) | twins, 0] = 0.001
    moves["button"][parts == 2, 0] = 0.2 * vertices[parts == 2, 0]
    moves["patch"][parts == 1, 2] = -0.009
    fold = int(np.argmin(np.linalg.norm(vertices - np.array([0.18, 0.8, 0.0]), axis=1)))
    moves["fold"][fold, [1, 2]] = 0.045
    moves["through"][parts == 2, 2] = -2 * BUTTON_RADIUS
    deltas = np.stack([moves[name] for name in MORPHS])
    return GarmentOnBody(Fit(body, garment, DEFAULT_FOLLOWING, vertices, deltas))


def broken(check, name):
    found = check.measure(check.body.weights({name: 1.0}))
    return found, found.broken


def test_nothing_is_broken_where_nothing_moves(check):
    found, figures = broken(check, "none")
    assert found.severity == "clean"
    assert (figures.folded_faces, figures.crossing_pairs, figures.layer_swaps) == (0, 0, 0)
    assert figures.seam_opening == 0.0
    assert figures.hard_bend < 1e-15


def test_a_seam_that_opens_is_told_with_its_gap(check):
    found, figures = broken(check, "seam")
    assert figures.seam_opening == pytest.approx(0.001)
    assert found.severities["seam"] == "moderate"
    (spot,) = {place.side for place in found.places if place.fault == "seam"}
    assert spot == "back middle"


def test_a_button_that_is_drawn_wide_is_told_with_its_bend(check):
    found, figures = broken(check, "button")
    assert 0.0005 < figures.hard_bend < 0.2 * BUTTON_RADIUS
    spot = next(place for place in found.places if place.fault == "hard")
    assert spot.part == "button"
    assert figures.seam_opening == 0.0


def test_a_patch_that_sinks_is_told_by_the_area_that_was_seen(check, garment):
    found, figures = broken(check, "patch")
    assert figures.layer_swaps > 0.5 * (garment.vertex_parts() == 1).sum()
    assert found.severities["layers"] in ("moderate", "grave")
    spot = next(place for place in found.places if place.fault == "layers")
    assert spot.part == "patch"
    assert spot.value == pytest.approx(1e4 * figures.swapped_area)
    patch = face_areas(garment.vertices, garment.faces[garment.face_parts == 1]).sum()
    assert 0.5 * patch < figures.swapped_area < patch


def test_a_fold_is_told_by_the_area_of_its_triangles(check):
    found, figures = broken(check, "fold")
    assert 1 <= figures.folded_faces <= 6
    spot = next(place for place in found.places if place.fault == "folded")
    assert spot.value == pytest.approx(1e4 * figures.folded_area)
    assert found.severities["folded"] == DEFAULT_BANDS.grade("folded", figures.folded_area) != "clean"
    assert spot.height == pytest.approx(0.8, abs=0.06)
    assert spot.side.endswith("left")


def test_a_button_through_its_cloth_is_told_by_pairs(check):
    found, figures = broken(check, "through")
    assert figures.crossing_pairs >= 6
    assert figures.hard_bend < 1e-15
    assert {place.part for place in found.places if place.fault == "crossing"} >= {"button"}


def test_bands_that_are_set_are_used(garment, check):
    bands = make_bands({"seam": [0.002, 0.003, 0.004]})
    lenient = GarmentOnBody(check.fit, bands=bands)
    found = lenient.measure(check.body.weights({"seam": 1.0}))
    assert found.broken.seam_opening == pytest.approx(0.001)
    assert found.severities["seam"] == "clean"
    assert not any(place.fault == "seam" for place in found.places)


def test_a_garment_worn_under_another_is_watched(check, garment):
    vest, faces = tube(clearance=0.01, rings=30, sides=50)
    worn = Garment.of("vest", vest, faces)
    swell = np.zeros((len(MORPHS), *vest.shape))
    swell[MORPHS.index("patch")] = 0.03 * vest / (RADIUS + 0.01) * np.array([1.0, 0.0, 1.0])
    under = bare_fit(worn, MORPHS, swell)
    both = GarmentOnBody(check.fit, under=[under])
    assert both.measure(check.body.weights({"none": 1.0})).broken.layer_swaps == 0
    assert both.measure(check.body.weights({"patch": 1.0})).broken.layer_swaps > 1000
