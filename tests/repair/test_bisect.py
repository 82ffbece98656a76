"""Split triangles stay a whole mesh, carry everything linearly, and lie on the curve that the cloth describes."""

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.mesh.geometry import face_areas, face_normals
from dressform.mesh.topology import audit, boundary_edges, edges
from dressform.repair.bisect import bisect, radius_squared
from meshes import sheet, sphere, tube


def test_the_smallest_circle_of_a_triangle_is_the_closed_form() -> None:
    side = 0.04
    equilateral = side * np.array([[0, 0, 0], [1, 0, 0], [0.5, np.sqrt(0.75), 0]])
    right = np.array([[0, 0, 0], [3.0, 0, 0], [0, 4.0, 0]])
    obtuse = np.array([[0, 0, 0], [10.0, 0, 0], [5.0, 1.0, 0]])
    flat = np.array([[0, 0, 0], [2.0, 0, 0], [1.0, 0.0, 0]])
    found = radius_squared(np.stack([equilateral, right, obtuse, flat]))
    assert found == pytest.approx([side**2 / 3, 2.5**2, 25.0, 1.0])


@pytest.mark.parametrize("seed", range(5))
def test_any_choice_of_triangles_leaves_no_hanging_vertex(seed: int) -> None:
    """A closed surface stays closed and of one piece with the same turn; the area of a flat one stays what it was."""
    rng = np.random.default_rng(seed)
    vertices, faces = sphere(2)
    shrink = np.where(rng.random(len(faces)) < 0.1, rng.uniform(1, 40, len(faces)), 1.0)
    made = bisect(vertices, faces, shrink)
    found = audit(made.vertices, made.faces)
    assert (found.open_edges, found.branching_edges, found.turned_edges, found.unused_vertices) == (0, 0, 0, 0)
    assert len(made.vertices) - len(edges(made.faces)) + len(made.faces) == 2
    flat, triangles = sheet(7, seed=seed)
    parts = bisect(flat, triangles, rng.uniform(0, 30, len(triangles)))
    assert face_areas(parts.vertices, parts.faces).sum() == pytest.approx(1.0)
    assert face_normals(parts.vertices, parts.faces)[:, 2].min() > 0.99
    border = parts.vertices[boundary_edges(parts.faces)]
    assert np.linalg.norm(border[:, 0] - border[:, 1], axis=1).sum() == pytest.approx(4.0)


def test_every_triangle_shrinks_as_asked_and_no_further_than_a_halving_needs() -> None:
    vertices, faces = sheet(5)
    shrink = np.where(np.arange(len(faces)) == 11, 16.0, 1.0)
    made = bisect(vertices, faces, shrink)
    before = radius_squared(vertices[faces])
    after = radius_squared(made.vertices[made.faces])
    assert (after[made.parents == 11] <= before[11] / 16 + 1e-12).all()
    assert after[made.parents == 11].max() > before[11] / 33
    far = np.abs(vertices[faces].mean(axis=1) - vertices[faces[11]].mean(axis=0)).max(axis=1) > 0.45
    assert far.any()
    assert np.isin(np.flatnonzero(far), made.parents).all()
    assert (np.bincount(made.parents)[far] == 1).all()


def test_angles_stay_bounded_however_often_triangles_are_halved() -> None:
    vertices, faces = sheet(4, seed=3)
    made = bisect(vertices, faces, np.where(np.arange(len(faces)) == 4, 2000.0, 1.0))

    def min_angle(points: np.ndarray, triangles: np.ndarray) -> float:
        corners = points[triangles]
        arms = [np.roll(corners, -k, axis=1) - corners for k in (1, 2)]
        arms = [arm / np.linalg.norm(arm, axis=2, keepdims=True) for arm in arms]
        return float(np.arccos(np.einsum("fcx,fcx->fc", *arms)).min())

    assert made.added > 500
    assert min_angle(made.vertices, made.faces) > 0.49 * min_angle(vertices, faces)


def test_rows_and_corners_carry_a_linear_field_exactly() -> None:
    vertices, faces = sheet(6, seed=1)
    made = bisect(vertices, faces, np.linspace(0, 12, len(faces)), smooth=False)
    slope = np.array([0.3, -1.2, 2.0])
    assert made.rows @ (vertices @ slope) == pytest.approx(made.vertices @ slope)
    assert made.rows.sum(axis=1) == pytest.approx(1.0)
    assert np.array_equal((made.rows @ vertices)[: len(vertices)], vertices)
    corners = made.per_corner((vertices @ slope)[faces][..., None])
    assert corners[..., 0] == pytest.approx((made.vertices @ slope)[made.faces])
    assert made.corners.sum(axis=2) == pytest.approx(1.0)


def test_texture_that_jumps_along_a_seam_stays_apart_on_its_two_sides() -> None:
    vertices, faces = sheet(3)
    sheet_number = (vertices[faces].mean(axis=1)[:, 0] > 0.5).astype(float)
    uv = vertices[faces][..., :2] + 10 * sheet_number[:, None, None]
    made = bisect(vertices, faces, np.full(len(faces), 9.0))
    carried = made.per_corner(uv)
    wanted = made.vertices[made.faces][..., :2] + 10 * sheet_number[made.parents][:, None, None]
    assert carried == pytest.approx(wanted)


def test_a_new_vertex_rises_over_its_chord_by_the_sagitta() -> None:
    """On a cylinder of radius R an edge of length L across it rises by R − √(R² − L²/4) ≈ L²/8R."""
    radius, around = 0.2, 24
    vertices, faces = tube((radius, radius), 1.0, around=around, rows=20)
    chord = 2 * radius * np.sin(np.pi / around)
    shrink = np.full(len(faces), 4.0)
    flat, bent = (bisect(vertices, faces, shrink, smooth=smooth) for smooth in (False, True))
    assert np.array_equal(flat.faces, bent.faces)
    assert np.array_equal(bent.vertices[: len(vertices)], vertices)
    heights = [np.hypot(*made.vertices[len(vertices) :][:, [0, 2]].T) for made in (flat, bent)]
    assert heights[0].min() == pytest.approx(radius - chord**2 / (8 * radius), rel=1e-3)
    assert heights[1] == pytest.approx(radius, abs=0.04 * chord**2 / (8 * radius))


def test_a_crease_stays_straight() -> None:
    """Two sheets at a right angle: the vertices of the fold stay on it, those beside it in their plane."""
    vertices, faces = sheet(3)
    fold = vertices.copy()
    fold[vertices[:, 0] > 0.5] = np.stack([0.5 + 0 * vertices[:, 0], vertices[:, 1], vertices[:, 0] - 0.5], axis=1)[
        vertices[:, 0] > 0.5
    ]
    made = bisect(fold, faces, np.full(len(faces), 3.0))
    on_one = np.abs(made.vertices[:, 2]) < 1e-12
    on_other = np.abs(made.vertices[:, 0] - 0.5) < 1e-12
    assert (on_one | on_other).all()


def test_edges_that_only_coincide_are_split_alike() -> None:
    """Two sheets that meet without being joined: every new vertex on one rim has its twin on the other."""
    left, faces = sheet(4)
    right = left + np.array([1.0, 0.0, 0.0])
    shrink = np.concatenate([np.full(len(faces), 6.0), np.ones(len(faces))])
    made = bisect(np.concatenate([left, right]), np.concatenate([faces, faces + len(left)]), shrink)
    from_left = made.rows[:, : len(left)].sum(axis=1) > 0.5
    rims = [
        np.sort(made.vertices[side & (np.abs(made.vertices[:, 0] - 1.0) < 1e-12)][:, 1])
        for side in (from_left, ~from_left)
    ]
    assert len(rims[0]) > 4
    assert np.array_equal(rims[0], rims[1])


def test_nothing_asked_changes_nothing() -> None:
    vertices, faces = sphere(1)
    made = bisect(vertices, faces, np.ones(len(faces)))
    assert made.added == 0
    assert np.array_equal(made.faces, faces)
    assert np.array_equal(made.vertices, vertices)


def test_a_wrong_count_is_refused() -> None:
    vertices, faces = sphere(1)
    with pytest.raises(ArgumentError, match="`shrink` must be 80 finite numbers, got 3"):
        bisect(vertices, faces, np.ones(3))
