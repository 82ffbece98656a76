"""The pucker index of one field is the same on any mesh that is fine enough; one too coarse gets no figure."""

import numpy as np
import pytest

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.pucker import PUCKER, TOO_COARSE
from dressform.faults.pucker import measure_pucker, pucker_index, pucker_windows
from dressform.faults.results import Pucker, ShapeFaults
from fault_meshes import icosphere, make_body, make_fit, pipe, sheet, turned

RADIUS, LENGTH = 0.15, 0.6


def waves(vertices: np.ndarray) -> np.ndarray:
    """Eight smooth waves round a pipe, 2 cm high."""
    swell = 0.02 * np.cos(8 * np.arctan2(vertices[:, 0], vertices[:, 2])) * np.sin(2 * np.pi * vertices[:, 1] / LENGTH)
    return vertices + swell[:, None] * vertices * np.array([1.0, 0.0, 1.0]) / RADIUS


def waved(edge: float) -> Pucker:
    vertices, faces = pipe(RADIUS, LENGTH, edge=edge)
    windows = pucker_windows(vertices, faces)
    return measure_pucker(windows, pucker_index(windows, waves(vertices)))


@pytest.mark.parametrize("edge", [0.014, 0.012])
def test_refining_cloth_keeps_the_index_of_a_smooth_field(edge: float) -> None:
    fine = waved(0.006)
    found = waved(edge)
    assert found.p95 == pytest.approx(fine.p95, rel=0.15)
    assert found.p99 == pytest.approx(fine.p99, rel=0.15)


@pytest.mark.parametrize("edge", [0.03, 0.05])
def test_cloth_with_too_few_vertices_has_no_index(edge: float) -> None:
    found = waved(edge)
    assert found.told_share < 0.5
    assert not found.is_told
    assert found.graded == 0.0
    assert np.isnan([found.p50, found.p95, found.p99, found.max]).all()


def test_the_table_says_too_coarse_and_the_grade_is_clean() -> None:
    skin, faces = icosphere(RADIUS - 0.02, level=3)
    vertices, walls = pipe(RADIUS, LENGTH, edge=0.05)
    shift = np.array([0.0, -LENGTH / 2, 0.0])
    body = make_body(skin, faces, still=np.zeros(3))
    fit = make_fit(vertices + shift, walls, body, still=waves(vertices) - vertices)
    found = GarmentOnBody(fit).measure(np.ones(1))
    assert not found.pucker.is_told
    assert found.severities["pucker"] == "clean"
    assert PUCKER.columns[0].text([found]) == TOO_COARSE


def test_cloth_that_is_told_keeps_a_similarity_at_zero() -> None:
    vertices, faces = pipe(RADIUS, LENGTH, edge=0.012)
    windows = pucker_windows(vertices, faces)
    found = measure_pucker(windows, pucker_index(windows, turned(vertices, scale=1.3)))
    assert found.is_told
    assert found.max < 1e-12


def ridge(height: float, length: float, width: float, edge: float, count: int) -> ShapeFaults:
    """One fold on the upper of a large sheet's sides, over a ball that stays."""
    vertices, faces = sheet(count * edge, count=count, height=RADIUS + 0.02)
    body = make_body(*icosphere(RADIUS, level=3), still=np.zeros(3))
    x, _, z = vertices.T
    rise = height * np.exp(-((z / width) ** 2)) * np.exp(-((x / (0.5 * length)) ** 4))
    return GarmentOnBody(make_fit(vertices, faces, body, still=rise[:, None] * np.array([0.0, 1.0, 0.0]))).measure(
        np.ones(1)
    )


@pytest.mark.parametrize("width", [0.007, 0.010, 0.013])
def test_a_fold_8_mm_high_and_9_cm_long_is_more_than_slight(width: float) -> None:
    found = ridge(0.008, 0.09, width, 0.007, 140)  # 0.96 m² of cloth
    assert found.pucker.p99 < 0.02
    assert found.severities["bent"] == "moderate"
    assert found.severities["pucker"] != "clean"


def test_a_fold_of_1_mm_is_not_seen() -> None:
    assert ridge(0.001, 0.09, 0.010, 0.007, 60).severities["pucker"] == "clean"


def test_what_a_patch_reaches_is_the_same_on_a_finer_mesh() -> None:
    coarse, fine = ridge(0.008, 0.09, 0.010, 0.008, 60), ridge(0.008, 0.09, 0.010, 0.004, 120)
    assert fine.pucker.patch == pytest.approx(coarse.pucker.patch, rel=0.15)
