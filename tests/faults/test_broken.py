import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from dressform.faults.broken import bend, folded, hard_bends, seam_gaps
from dressform.garment.garment import Garment
from dressform.garment.parts import find_pieces, seam_pairs
from fault_meshes import icosphere, sheet, turned


def test_a_flat_sheet_and_a_sphere_have_no_folds():
    assert not folded(*sheet(1.0, count=8)).any()
    assert not folded(*icosphere(level=3)).any()


def test_a_vertex_pulled_over_its_ring_turns_triangles_over():
    vertices, faces = sheet(1.0, count=8)
    middle = 4 * 9 + 4
    vertices[middle, [0, 2]] += np.array([0.2, 0.2])  # beyond the far corner of its cells
    turned_over = folded(vertices, faces)
    assert 1 <= turned_over.sum() <= 4
    assert (faces[turned_over] == middle).any(axis=1).all()
    corners = vertices[faces[turned_over]]
    assert (np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 1] < 0).all()


def test_a_sharp_crease_is_no_fold():
    vertices, faces = sheet(1.0, count=8)
    right = vertices[:, 0] > 0
    vertices[right] = np.stack([0.02 * vertices[right, 0], -vertices[right, 0], vertices[right, 2]], axis=1)
    assert not folded(vertices, faces).any()


def test_folds_do_not_depend_on_numbering_or_place():
    rng = np.random.default_rng(4)
    vertices, faces = sheet(1.0, count=12)
    vertices[:, [0, 2]] += 0.06 * rng.normal(size=(len(vertices), 2))
    found = folded(vertices, faces)
    assert 0 < found.sum() < len(faces) / 3
    order = rng.permutation(len(faces))
    moved = turned(vertices, scale=2.0, shift=(1.0, 2.0, 3.0))
    assert (folded(moved, np.roll(faces[order], 1, axis=1)) == found[order]).all()


def seamed_sheets():
    """Two sheets whose facing borders coincide without being welded."""
    left, faces = sheet(0.4, count=4)
    right = left + np.array([0.4, 0.0, 0.0])
    return np.concatenate([left, right]), np.concatenate([faces, faces + len(left)]), len(left)


def test_a_seam_that_parts_opens_by_as_much():
    vertices, _, count = seamed_sheets()
    seams = seam_pairs(vertices)
    moved = vertices.copy()
    moved[count:] += np.array([0.002, 0.001, 0.002])
    np.testing.assert_allclose(seam_gaps(seams, moved), 0.003)
    assert seam_gaps(seams, turned(vertices, scale=3.0)).max() < 1e-12


@pytest.mark.parametrize("scale", [0.5, 1.0, 1.3])
def test_a_similarity_does_not_bend(scale):
    vertices, _ = icosphere(0.01, level=1, middle=(0.1, 1.2, 0.2))
    found = bend(vertices, turned(vertices, scale=scale, angle=2.5, shift=(0.3, 0.1, 0.0)))
    assert found.distances.max() < 1e-14
    assert found.scale == pytest.approx(scale)


def test_a_mirror_image_is_no_rigid_motion():
    rng = np.random.default_rng(6)
    points = rng.normal(size=(20, 3))
    assert bend(points, points * np.array([-1.0, 1.0, 1.0])).distances.max() > 0.1


def test_a_bent_sheet_departs_by_its_sagitta():
    """A bar of length L bent to a height h over its chord: the departures are those of a parabola from its mean."""
    x = np.linspace(-0.02, 0.02, 41)
    bar = np.stack([x, np.zeros(41), np.zeros(41)], axis=1)
    bent = bar + np.stack([np.zeros(41), 0.001 * (x / 0.02) ** 2, np.zeros(41)], axis=1)
    expected = np.abs(0.001 * (x / 0.02) ** 2 - (0.001 * (x / 0.02) ** 2).mean())
    np.testing.assert_allclose(bend(bar, bent).distances, expected, atol=2e-6)


def test_the_rotation_is_that_of_scipy():
    rng = np.random.default_rng(7)
    base = rng.normal(size=(30, 3))
    moved = turned(base) + 0.05 * rng.normal(size=base.shape)
    before, after = base - base.mean(axis=0), moved - moved.mean(axis=0)
    rotation, _ = Rotation.align_vectors(after, before)
    aligned = rotation.apply(before)
    scale = (aligned * after).sum() / (before**2).sum()
    np.testing.assert_allclose(bend(base, moved).distances, np.linalg.norm(after - scale * aligned, axis=1), rtol=1e-6)


def test_only_the_part_that_bends_is_told():
    cloth, faces = sheet(0.5, count=32)
    meshes = [(cloth, faces), icosphere(0.01, level=1), icosphere(0.01, level=1, middle=(0.1, 0.0, 0.0))]
    counts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    base = np.concatenate([vertices for vertices, _ in meshes])
    pieces = find_pieces(Garment.of("x", base, np.concatenate([f + n for (_, f), n in zip(meshes, counts)])))
    moved = turned(base)
    moved[: counts[1], 0] *= 1.4
    moved[counts[2] :, 0] *= 1.5
    bends = hard_bends(pieces, base, moved)
    assert bends[: counts[2]].max() < 1e-14
    assert bends[counts[2] :].max() > 1e-3
