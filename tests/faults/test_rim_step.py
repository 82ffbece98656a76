"""Rigid patches of a morph are found with their step and rim; bumps, turned limbs and blended shifts are none."""

import numpy as np
import pytest

from dressform.faults.rim_step import RigidPatches, find_rigid_patches
from meshes import sheet, tube

SIDE = 0.4
STEP = 0.012
LOW, HIGH = 0.1, 0.3


def _sheet(size: int) -> tuple[np.ndarray, np.ndarray]:
    vertices, faces = sheet(size)
    return SIDE * vertices, faces


def _in_rectangle(vertices: np.ndarray) -> np.ndarray:
    return ((vertices[:, :2] > LOW - 1e-9) & (vertices[:, :2] < HIGH + 1e-9)).all(axis=1)


def _lifted(size: int, angle: float = 0.0) -> RigidPatches:
    """A rectangle of a flat sheet lifted by a step and turned about its own middle line."""
    vertices, faces = _sheet(size)
    up = vertices[:, 1] - 0.5 * (LOW + HIGH)
    rise = np.stack([0 * up, (np.cos(angle) - 1) * up, STEP + np.sin(angle) * up], axis=1)
    return find_rigid_patches(vertices, faces, rise * _in_rectangle(vertices)[:, None])


@pytest.mark.parametrize("size", [33, 65])
def test_a_lifted_rectangle_is_one_rigid_patch_with_its_step_and_rim(size: int) -> None:
    result = _lifted(size)
    vertices, _ = _sheet(size)
    edge = SIDE / (size - 1)
    assert result.found
    assert result.share == pytest.approx(1.0)
    assert len(result.rigid_patches) == 1
    rigid_patch = result.rigid_patches[0]
    assert np.array_equal(rigid_patch.vertices, np.flatnonzero(_in_rectangle(vertices)))
    assert rigid_patch.step == pytest.approx(STEP)
    assert edge <= rigid_patch.spacing <= np.sqrt(2) * edge
    assert rigid_patch.jump == pytest.approx(STEP / rigid_patch.spacing, rel=0.1)
    assert rigid_patch.strain < 1e-12


def test_a_tilted_rigid_patch_is_found_by_its_true_rotation() -> None:
    rigid_patch = _lifted(65, np.radians(5.0)).rigid_patches[0]
    assert rigid_patch.strain < 1e-12
    assert rigid_patch.inside < np.radians(5.0)
    assert rigid_patch.step == pytest.approx(np.sqrt(STEP**2 + (0.1 * np.sin(np.radians(5.0))) ** 2 / 2), rel=0.15)


def test_the_area_and_step_stay_when_the_mesh_is_refined() -> None:
    coarse, fine = _lifted(33).rigid_patches[0], _lifted(129).rigid_patches[0]
    assert fine.step == pytest.approx(coarse.step, rel=1e-9)
    assert fine.area == pytest.approx((HIGH - LOW) ** 2, rel=0.05)
    assert fine.jump > 3.5 * coarse.jump


def test_a_jump_cut_into_finer_edges_stays_a_jump() -> None:
    """The coarse morph read linearly on a finer sheet: its rim is then two edges wide."""
    coarse, fine = 33, 65
    vertices, faces = _sheet(fine)
    grid = np.linspace(0, SIDE, coarse)
    inside = ((grid > LOW - 1e-9) & (grid < HIGH + 1e-9)).astype(float)
    rise = STEP * np.minimum(*(np.interp(vertices[:, axis], grid, inside) for axis in (0, 1)))
    result = find_rigid_patches(vertices, faces, np.stack([0 * rise, 0 * rise, rise], axis=1))
    assert result.found
    assert result.rigid_patches[0].jump == pytest.approx(_lifted(coarse).rigid_patches[0].jump, rel=0.15)


@pytest.mark.parametrize("size", [33, 65])
@pytest.mark.parametrize("height", [0.002, 0.012, 0.04])
def test_a_smooth_bump_is_no_rigid_patch(size: int, height: float) -> None:
    vertices, faces = _sheet(size)
    rise = height * np.exp(-(((vertices[:, :2] - 0.2) / 0.06) ** 2).sum(axis=1))
    result = find_rigid_patches(vertices, faces, np.stack([0 * rise, 0 * rise, rise], axis=1))
    assert not result.found
    assert result.rigid_patches == ()


def _limb(around: int, rows: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A limb, 1 m long, and how much of each vertex lies beyond a joint blended over 12 cm."""
    vertices, faces = tube((0.05, 0.05), 1.0, around=around, rows=rows)
    share = np.clip((vertices[:, 1] - 0.44) / 0.12, 0.0, 1.0)
    return vertices, faces, (share * share * (3 - 2 * share))[:, None]


@pytest.mark.parametrize(("around", "rows"), [(24, 75), (48, 150)])
@pytest.mark.parametrize("angle", [0.1, 0.6])
def test_a_limb_that_turns_as_a_whole_is_no_rigid_patch(around: int, rows: int, angle: float) -> None:
    vertices, faces, share = _limb(around, rows)
    spoke = vertices - np.array([0.0, 0.5, 0.0])
    cos, sin = np.cos(angle), np.sin(angle)
    turned = spoke @ np.array([[1.0, 0.0, 0.0], [0.0, cos, -sin], [0.0, sin, cos]]).T
    result = find_rigid_patches(vertices, faces, share * (turned - spoke))
    assert not result.found
    assert result.rigid_patches == ()


def test_a_limb_shifted_and_blended_in_is_no_rigid_patch() -> None:
    vertices, faces, share = _limb(48, 150)
    assert not find_rigid_patches(vertices, faces, share * np.array([0.05, 0.0, 0.0])).found


def test_a_body_shifted_as_a_whole_has_no_rim() -> None:
    vertices, faces = _sheet(33)
    assert not find_rigid_patches(vertices, faces, np.full(vertices.shape, 0.05)).found


def test_a_morph_that_moves_nothing_has_no_rigid_patch() -> None:
    vertices, faces = _sheet(33)
    result = find_rigid_patches(vertices, faces, np.zeros(vertices.shape))
    assert result == RigidPatches((), 0.0, 0.0, False)


def test_a_patch_smaller_than_the_least_diameter_is_no_rigid_patch() -> None:
    vertices, faces = _sheet(65)
    spot = (np.linalg.norm(vertices[:, :2] - 0.2, axis=1) < 0.03)[:, None]
    assert find_rigid_patches(vertices, faces, STEP * spot * np.array([0.0, 0.0, 1.0])).found
    assert not find_rigid_patches(vertices, faces, STEP * spot * np.array([0.0, 0.0, 1.0]), min_diameter=0.1).found


def test_a_rigid_patch_that_is_half_of_what_moves_is_named_and_not_blamed_for_all() -> None:
    vertices, faces = _sheet(65)
    bump = np.exp(-(((vertices[:, :2] - np.array([0.3, 0.2])) / 0.05) ** 2).sum(axis=1)) * (vertices[:, 0] > 0.17)
    rigid_patch = (np.abs(vertices[:, :2] - np.array([0.08, 0.2])) < 0.06).all(axis=1)
    rise = STEP * np.maximum(bump, rigid_patch)
    result = find_rigid_patches(vertices, faces, np.stack([0 * rise, 0 * rise, rise], axis=1))
    assert len(result.rigid_patches) == 1
    assert not result.found
    assert result.share < 0.7
