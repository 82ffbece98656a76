"""Pieces, hard parts and seams of a garment."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from dressform.garment.garment import Garment
from dressform.garment.parts import find_pieces, seam_groups, seam_pairs
from lift_phantoms import joined, sphere, tube


@pytest.fixture(scope="module")
def waistcoat() -> Garment:
    cloth = tube(0.2, 0.5, 0.015)
    buttons = [
        (v + np.array([0.0, y, 0.21]), f) for y in (-0.1, 0.0, 0.1) for v, f in [sphere(0.009, rows=5, columns=7)]
    ]
    return Garment.of("waistcoat", *joined(cloth, *buttons))


def test_small_closed_pieces_are_hard_and_the_cloth_is_not(waistcoat: Garment) -> None:
    pieces = find_pieces(waistcoat)
    assert pieces.hard.tolist() == [False, True, True, True]
    assert pieces.closed.tolist() == [False, True, True, True]
    assert pieces.hard_vertices().sum() == 3 * (2 + 4 * 7)
    # A sphere of 5 rings of 7 columns spans its diameter along y, and its widest rings along x and z.
    assert pieces.extents[1:] == pytest.approx(2 * 0.009, rel=0.1)


def test_what_the_file_says_of_stiffness_counts_before_name_and_size(waistcoat: Garment) -> None:
    parts = np.minimum(find_pieces(waistcoat).of_vertices[waistcoat.faces[:, 0]], 2)
    named = replace(waistcoat, part_names=("cloth", "badge", "buttons"), face_parts=parts)
    assert find_pieces(named).hard.tolist() == [False, True, True, True]
    told = replace(named, stiffness={"cloth": 1.0, "badge": 0.0, "buttons": 0.2})
    assert find_pieces(told).hard.tolist() == [True, False, False, False]


@pytest.mark.parametrize("degrees", [0.0, 20.0, 45.0, 60.0])
def test_a_badge_is_hard_however_it_is_turned(degrees: float) -> None:
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)]) * [0.06, 0.06, 0.004]
    badge = ConvexHull(corners)
    turn = Rotation.from_euler("xyz", [0.4 * degrees, -degrees, degrees], degrees=True).as_matrix()
    cloth = tube(0.2, 0.5, 0.012)
    garment = Garment.of(
        "coat", *joined(cloth, (corners @ turn.T + [0.0, 0.0, 0.21], badge.simplices.astype(np.int64)))
    )
    pieces = find_pieces(garment)
    assert pieces.hard.tolist() == [False, True]
    assert pieces.extents[1] == pytest.approx(0.06)


def test_an_open_patch_of_the_same_size_is_no_button(waistcoat: Garment) -> None:
    opened = waistcoat.faces[:-1]  # one triangle of the last button is missing
    garment = Garment.of("waistcoat", waistcoat.vertices, opened)
    assert find_pieces(garment).hard.tolist() == [False, True, True, False]


def test_a_large_closed_piece_is_no_button() -> None:
    pieces = find_pieces(Garment.of("bag", *joined(tube(0.2, 0.5, 0.015), sphere(0.1))))
    assert pieces.closed.tolist() == [False, True]
    assert pieces.hard.tolist() == [False, False]


def test_a_garment_that_is_itself_small_and_closed_is_not_all_buttons() -> None:
    assert not find_pieces(Garment.of("ring", *sphere(0.01))).hard.any()


def test_vertices_without_triangles_are_pieces_and_not_hard() -> None:
    vertices, faces = tube(0.1, 0.2, 0.02)
    pieces = find_pieces(Garment.of("tube", np.concatenate([vertices, [[0.0, 1.0, 0.0]]]), faces))
    assert pieces.sizes.tolist() == [len(vertices), 1]
    assert not pieces.hard.any()


@pytest.mark.parametrize(
    ("name", "is_hard"),
    [
        ("brass buttons", True),
        ("Buckle_02", True),
        ("beltBuckle", True),
        ("zip", False),
        ("button band", False),
        ("pinafore", False),
        ("cloth", False),
        ("", False),
    ],
)
def test_a_part_is_hard_where_its_name_ends_with_what_it_is(name: str, is_hard: bool) -> None:
    """An open disc of 15 cm, which by its form is cloth."""
    disc = sphere(0.075)
    half = disc[1][disc[0][disc[1]].mean(axis=1)[:, 2] > 0.0]
    vertices, faces = joined(tube(0.2, 0.5, 0.015), (disc[0] + [0.0, 0.0, 0.3], half))
    parts = (np.arange(len(faces)) >= len(faces) - len(half)).astype(np.int64)
    garment = Garment("belt", vertices, faces, ("cloth", name or "x"), parts, np.ones(len(vertices)))
    hard = find_pieces(garment).hard_vertices()
    assert bool(hard[faces[-1]].all()) == is_hard
    assert not hard[faces[0]].any()


@pytest.mark.parametrize("shift", [0.0, 4e-6, 3e-5])
def test_seam_pairs_are_the_vertices_within_reach(shift: float) -> None:
    vertices, _ = tube(0.1, 0.2, 0.02, jitter=0.3)
    copies = vertices[10:20] + np.array([shift, 0.0, 0.0])
    pairs = seam_pairs(np.concatenate([vertices, copies]))
    wanted = [[10 + k, len(vertices) + k] for k in range(10)] if shift < 1e-5 else []
    assert pairs.tolist() == wanted


def test_three_layers_of_one_seam_are_one_group() -> None:
    points = np.array([[0.0, 0, 0], [1.0, 0, 0], [0.0, 0, 0], [0.0, 0, 0]])
    groups = seam_groups(points)
    assert groups[0] == groups[2] == groups[3] != groups[1]
