"""Welding: seams are one vertex, what merely touches or moves apart is not."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.body.skeleton import Skeleton, Skin
from dressform.formats.file_mesh import FileMesh
from dressform.formats.welding import NO_VERTEX, WELD_TOLERANCE, weld_stored
from dressform.mesh.topology import boundary_edges
from solids import capped_tube, tube


def split(vertices: np.ndarray, faces: np.ndarray) -> FileMesh:
    """Every corner a vertex of its own, as a flat-shaded file stores it."""
    return FileMesh.plain("split", vertices[faces.ravel()], np.arange(faces.size).reshape(-1, 3))


def test_fully_split_mesh_welds_back_to_a_closed_one() -> None:
    vertices, faces = capped_tube(height=1.7, radius=0.2)
    welded = weld_stored(split(vertices, faces))
    assert len(welded.vertices) == len(vertices)
    assert len(boundary_edges(welded.faces)) == 0
    np.testing.assert_array_equal(welded.vertices[welded.faces], vertices[faces])


@pytest.mark.parametrize(("share", "joined"), [(0.4, True), (3.0, False)])
def test_tolerance_is_relative_to_the_diagonal(share: float, joined: bool) -> None:
    vertices, faces = tube(height=3.0, radius=0.5)
    stored = split(1000 * vertices, faces)
    diagonal = float(np.linalg.norm(np.ptp(stored.vertices, axis=0)))
    stored.vertices[1] += np.array([0.0, share * WELD_TOLERANCE * diagonal, 0.0])
    assert (len(weld_stored(stored).vertices) == len(vertices)) == joined


def test_what_touches_inside_two_surfaces_is_not_sewn_together() -> None:
    vertices, faces = capped_tube(height=1.7, radius=0.2)
    above = vertices + np.array([0.0, 1.7, 0.0])  # the tip of one cap lies on the tip of the other
    stored = FileMesh.plain("two", np.concatenate([vertices, above]), np.concatenate([faces, faces + len(vertices)]))
    assert len(weld_stored(stored).vertices) == 2 * len(vertices)


def test_order_of_an_unsplit_file_is_kept() -> None:
    vertices, faces = capped_tube(height=1.7, radius=0.2)
    welded = weld_stored(FileMesh.plain("moderate", vertices, faces))
    np.testing.assert_array_equal(welded.vertices, vertices)
    np.testing.assert_array_equal(welded.faces, faces)


def test_vertices_that_morph_apart_are_not_joined_and_it_is_said() -> None:
    vertices, faces = tube(height=1.0, radius=0.2)
    stored = split(vertices, faces)
    deltas = np.zeros((1, len(stored.vertices), 3))
    corner = np.flatnonzero((stored.vertices == vertices[20]).all(axis=1))
    deltas[0, corner[0]] = (0.0, 0.1, 0.0)
    stored = replace(stored, morph_names=("open",), deltas=deltas, default_weights=np.zeros(1))
    welded = weld_stored(stored)
    assert len(welded.vertices) == len(vertices) + 1
    assert "1 places hold vertices that coincide but move apart; they were not joined." in welded.notes
    np.testing.assert_allclose(welded.deltas[:, welded.file_to_welded], stored.deltas)


def test_vertices_that_follow_other_joints_are_not_joined() -> None:
    vertices, faces = tube(height=1.0, radius=0.2)
    stored = split(vertices, faces)
    weights = np.tile([1.0, 0.0], (len(stored.vertices), 1))
    corner = np.flatnonzero((stored.vertices == vertices[20]).all(axis=1))
    weights[corner[:2]] = (0.0, 1.0)
    joints = np.tile([0, 1], (len(stored.vertices), 1))
    skeleton = Skeleton(("a", "b"), np.array([-1, 0]), np.tile(np.eye(4), (2, 1, 1)), np.tile(np.eye(4), (2, 1, 1)))
    welded = weld_stored(replace(stored, skeleton=skeleton, skin=Skin(joints, weights)))
    assert len(welded.vertices) == len(vertices) + 1
    assert welded.skin is not None
    np.testing.assert_array_equal(welded.skin.weights[welded.file_to_welded], weights)


def test_loose_vertices_and_flat_triangles_are_left_out_and_said() -> None:
    vertices, faces = tube(height=1.0, radius=0.2)
    stored = FileMesh.plain("loose", np.concatenate([vertices, [[9.0, 9, 9]]]), np.concatenate([faces, [[3, 3, 4]]]))
    welded = weld_stored(stored)
    assert welded.file_to_welded[-1] == NO_VERTEX
    np.testing.assert_array_equal(welded.kept_faces, [*[True] * len(faces), False])
    assert welded.notes == (
        "1 triangles have two corners in one place; they were left out of all measuring.",
        "1 vertices belong to no triangle; they stay where they are.",
    )


def test_numbers_on_split_vertices_are_averaged_and_missing_ones_left_out() -> None:
    vertices, faces = tube(height=1.0, radius=0.2)
    stored = split(vertices, faces)
    values = np.full(len(stored.vertices), np.nan)
    corner = np.flatnonzero((stored.vertices == vertices[20]).all(axis=1))
    values[corner[:2]] = (0.25, 0.75)
    welded = weld_stored(stored)
    found = welded.gather(values)
    assert found[welded.file_to_welded[corner[0]]] == 0.5
    assert np.isnan(found).sum() == len(vertices) - 1
