"""A body and the open cloth on it as one moving mesh, of which only the body has an inside."""

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.errors import MatchError
from dressform.proof.certificate import certify, crossing_sheets, touching_faces
from dressform.proof.linear_mesh import LinearMesh, joined, linear_mesh
from proof.spheres import ball


def shell(radius: float, growth: float, *, half: bool = False) -> LinearMesh:
    """A ball, or its upper half as an open sheet, that a morph makes larger."""
    vertices, faces = ball(2)
    if half:
        faces = faces[(vertices[faces, 1] > -0.01).all(axis=1)]
    return linear_mesh(radius * vertices, growth * vertices[None], faces)


@pytest.fixture
def dressed() -> LinearMesh:
    return joined(shell(0.10, 0.02), shell(0.11, 0.02, half=True), shell(0.12, 0.02, half=True))


def test_the_triangles_of_the_solid_come_first_and_all_others_are_sheets(dressed: LinearMesh) -> None:
    solid, half = shell(0.10, 0.02), shell(0.11, 0.02, half=True)
    assert dressed.sheets is not None
    assert np.array_equal(dressed.solid_faces, solid.faces)
    assert dressed.sheets.sum() == 2 * len(half.faces)
    assert len(dressed.faces) == len(solid.faces) + 2 * len(half.faces)


@pytest.mark.parametrize("weight", [0.0, 0.3, 1.0])
def test_every_part_moves_as_it_does_by_itself(dressed: LinearMesh, weight: float) -> None:
    corners = np.linalg.norm(dressed.at(np.array([weight]))[dressed.faces], axis=2)
    solid = len(dressed.solid_faces)
    per_sheet = (len(dressed.faces) - solid) // 2
    radii = np.repeat([0.10, 0.11, 0.12], [solid, per_sheet, per_sheet]) + 0.02 * weight
    assert np.allclose(corners, radii[:, None], atol=1e-12)


def test_cloth_under_an_open_sheet_is_not_inside_anything(dressed: LinearMesh) -> None:
    between = shell(0.115, 0.02)
    assert not touching_faces(between, dressed).any()
    assert len(crossing_sheets(between, dressed)) == 0
    proof = certify(between, dressed, Range.unit(("grow",)))
    assert proof.excluded_area == 0.0
    assert proof.certified_area == 1.0


def test_cloth_under_a_solid_is_inside_it(dressed: LinearMesh) -> None:
    assert touching_faces(shell(0.09, 0.02), dressed).all()


def test_cloth_that_crosses_a_sheet_is_told_pair_by_pair_and_not_left_out(dressed: LinearMesh) -> None:
    vertices, faces = ball(2)
    shifted = 0.125 * vertices - np.array([0.0, 0.02, 0.0])
    cloth = linear_mesh(shifted, 0.02 * vertices[None], faces)
    pairs = crossing_sheets(cloth, dressed)
    assert len(pairs) > 0
    assert dressed.sheets is not None
    assert dressed.sheets[pairs[:, 1]].all()
    assert len(crossing_sheets(cloth, shell(0.10, 0.02))) == 0


def test_meshes_with_other_morphs_are_not_joined() -> None:
    vertices, faces = ball(1)
    still = linear_mesh(vertices, np.zeros((2, len(vertices), 3)), faces)
    with pytest.raises(MatchError, match=r"joined: `sheets` must move with the same morphs as the solid, got \[1, 2\]"):
        joined(shell(0.1, 0.02), still)


def test_a_mark_for_each_triangle_is_needed(dressed: LinearMesh) -> None:
    with pytest.raises(MatchError, match=r"LinearMesh: `sheets` must have one value for each of .* triangles, got 3"):
        LinearMesh(dressed.tree, dressed.terms, dressed.boxes, np.ones(3, dtype=bool))
