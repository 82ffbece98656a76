"""The pucker index: blind to what is smooth, sharp on what is not. Figures on the cylinder: [C] in docs/faults.md."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from dressform.errors import ArgumentError
from dressform.faults.pucker import measure_pucker, pucker_index, pucker_windows
from fault_meshes import pipe, sheet, turned

BODY_RADIUS, CLEARANCE, LENGTH = 0.10, 0.016, 0.6
BUMP, BUMP_WIDTH = 0.05, 0.065


def bump(points, *, height=BUMP):
    """A smooth bump outward, in front, half way up."""
    radius = np.hypot(points[:, 0], points[:, 2])
    along = np.arctan2(points[:, 0], points[:, 2]) * radius
    swell = height * np.exp(-(along**2 + (points[:, 1] - LENGTH / 2) ** 2) / (2 * BUMP_WIDTH**2))
    return (swell / radius)[:, None] * points * np.array([1.0, 0.0, 1.0])


@pytest.fixture(scope="module", params=[0.01, 0.005])
def cloth(request):
    vertices, faces = pipe(BODY_RADIUS + CLEARANCE, LENGTH, edge=request.param)
    return vertices, faces, pucker_windows(vertices, faces)


@pytest.fixture(scope="module")
def body_points():
    return pipe(BODY_RADIUS, LENGTH, edge=0.025)[0]


def p95(windows, moved):
    return measure_pucker(windows, pucker_index(windows, moved)).p95


def test_affine_maps_do_not_pucker(cloth):
    vertices, _, windows = cloth
    shear = np.eye(3) + np.array([[0.0, 0.4, 0.1], [0.0, -0.3, 0.2], [0.3, 0.0, 0.5]])
    for moved in (vertices, turned(vertices, scale=1.7, shift=(4.0, 5.0, 6.0)), vertices @ shear.T):
        assert pucker_index(windows, moved).max() < 1e-12


def test_a_smooth_bump_hardly_puckers(cloth):
    vertices, _, windows = cloth
    assert 0.0015 < p95(windows, vertices + bump(vertices)) < 0.0035


def test_one_nearest_vertex_puckers_far_more_than_a_smooth_bump(cloth, body_points):
    vertices, _, windows = cloth
    feet = cKDTree(body_points).query(vertices)[1]
    assert 0.08 < p95(windows, vertices + bump(body_points)[feet]) < 0.11


def test_eight_nearest_by_inverse_distance_lie_between(cloth, body_points):
    vertices, _, windows = cloth
    distances, feet = cKDTree(body_points).query(vertices, k=8)
    weights = (1 / distances) / (1 / distances).sum(axis=1, keepdims=True)
    assert 0.02 < p95(windows, vertices + np.einsum("vk,vkx->vx", weights, bump(body_points)[feet])) < 0.03


def test_rigid_patches_pucker_as_badly(cloth):
    """Patches of 6 cm that move as blocks by the bump at their middle."""
    vertices, _, windows = cloth
    radius = BODY_RADIUS + CLEARANCE
    along = np.arctan2(vertices[:, 0], vertices[:, 2])
    step = 0.06 / radius
    middle = (np.floor(along / step) + 0.5) * step
    height = (np.floor(vertices[:, 1] / 0.06) + 0.5) * 0.06
    centre = np.stack([radius * np.sin(middle), height, radius * np.cos(middle)], axis=1)
    assert 0.08 < p95(windows, vertices + bump(centre)) < 0.16


def test_a_ripple_puckers_by_its_height(cloth):
    """A ripple of amplitude a and wavelength r is wholly residual: about a / (√2 r)."""
    vertices, _, windows = cloth
    amplitude = 0.001
    normal = vertices * np.array([1.0, 0.0, 1.0]) / (BODY_RADIUS + CLEARANCE)
    ripple = amplitude * np.sin(2 * np.pi * vertices[:, 1] / 0.03)[:, None] * normal
    index = measure_pucker(windows, pucker_index(windows, vertices + ripple))
    assert index.p50 == pytest.approx(amplitude / (np.sqrt(2) * 0.03), rel=0.2)


def test_halving_the_edges_changes_little():
    found = []
    for edge in (0.01, 0.005):
        vertices, faces = pipe(BODY_RADIUS + CLEARANCE, LENGTH, edge=edge)
        ripple = 0.002 * np.sin(2 * np.pi * vertices[:, 1] / 0.03)[:, None] * vertices * np.array([1.0, 0.0, 1.0])
        found.append(p95(pucker_windows(vertices, faces), vertices + ripple))
    assert found[1] == pytest.approx(found[0], rel=0.15)


def test_a_smooth_bend_leaves_a_residual_of_third_order():
    vertices, faces = pipe(BODY_RADIUS + CLEARANCE, LENGTH, edge=0.005)
    moved = vertices + bump(vertices)
    radii = np.array([0.02, 0.03, 0.045])
    found = [p95(pucker_windows(vertices, faces, radius=radius), moved) for radius in radii]
    slope = np.polyfit(np.log(radii), np.log(found), 1)[0]
    assert slope > 1.7  # residual ~ r³ over r


def test_pleats_of_the_base_cost_nothing():
    """Cloth with pleats that is only carried along stays at zero; so the pleats are not held against it."""
    vertices, faces = sheet(0.3, count=60)
    vertices[:, 1] += 0.005 * np.sin(2 * np.pi * vertices[:, 0] / 0.02)
    windows = pucker_windows(vertices, faces)
    assert pucker_index(windows, turned(vertices, scale=1.2)).max() < 1e-12


def test_the_index_turns_with_the_cloth(cloth, body_points):
    vertices, faces, windows = cloth
    moved = vertices + bump(body_points)[cKDTree(body_points).query(vertices)[1]]
    place = {"scale": 1.0, "shift": (0.2, -0.1, 0.4)}
    elsewhere = pucker_windows(turned(vertices, **place), faces)
    np.testing.assert_allclose(
        pucker_index(elsewhere, turned(moved, **place)), pucker_index(windows, moved), rtol=1e-6, atol=1e-9
    )


def test_growing_the_moved_cloth_alone_changes_nothing(cloth, body_points):
    vertices, _, windows = cloth
    moved = vertices + bump(body_points)[cKDTree(body_points).query(vertices)[1]]
    np.testing.assert_allclose(pucker_index(windows, 2.5 * moved), pucker_index(windows, moved), rtol=1e-9, atol=1e-14)


def test_layers_on_each_other_are_judged_apart():
    """Two sheets 1 mm apart that slide against each other are each perfectly smooth."""
    lower, faces = sheet(0.3, count=30)
    both = np.concatenate([lower, lower + np.array([0.0, 0.001, 0.0])])
    windows = pucker_windows(both, np.concatenate([faces, faces + len(lower)]))
    moved = both.copy()
    moved[len(lower) :] += np.array([0.02, 0.003, 0.0])
    assert pucker_index(windows, moved).max() < 1e-12


def test_coarse_cloth_is_judged_in_wider_windows():
    """With 4 cm cells a 3 cm window holds one vertex; a vertex out of line is seen all the same."""
    vertices, faces = sheet(0.4, count=10)
    windows = pucker_windows(vertices, faces)
    assert windows.radii.min() > 0.04
    moved = vertices.copy()
    moved[60, 1] += 0.01
    assert pucker_index(windows, moved)[windows.owner[60]] > 0.02


def test_cost_of_fine_cloth_depends_on_its_area():
    vertices, faces = sheet(0.2, count=150)
    assert len(pucker_windows(vertices, faces).stations) < len(vertices) / 8


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_random_affine_maps_do_not_pucker(seed):
    rng = np.random.default_rng(seed)
    vertices, faces = sheet(0.2, count=12)
    vertices += 0.004 * rng.normal(size=vertices.shape)
    matrix = rng.normal(size=(3, 3))
    windows = pucker_windows(vertices, faces)
    condition = np.linalg.cond(matrix)
    assert pucker_index(windows, vertices @ matrix.T + rng.normal(size=3)).max() < 1e-12 * condition


def test_a_window_needs_a_radius():
    vertices, faces = sheet(0.1, count=3)
    with pytest.raises(ArgumentError, match="`radius` must be positive metres, got 0"):
        pucker_windows(vertices, faces, radius=0.0)
