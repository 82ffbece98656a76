import numpy as np
import pytest

from dressform.faults.stretch import (
    base_triangles,
    departure,
    log_stretch,
    measure_stretch,
    metrics,
    principal_stretches,
    skin_metrics,
    skin_stretch,
)
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from fault_meshes import icosphere, sheet, turned

GOLDEN = (1 + 5**0.5) / 2


def flat_sheet():
    vertices, faces = sheet(1.0, count=6)
    return vertices, base_triangles(vertices, faces)


def stretch_of(base, moved):
    stretches = principal_stretches(metrics(base, moved))
    return stretches, measure_stretch(base, stretches, log_stretch(stretches))


def test_a_fifth_longer_one_way_has_sanders_values():
    vertices, base = flat_sheet()
    stretches, found = stretch_of(base, vertices * np.array([1.2, 1.0, 1.0]))
    np.testing.assert_allclose(stretches, np.tile([1.2, 1.0], (len(stretches), 1)), atol=1e-12)
    assert found.l2 == pytest.approx(1.10454, abs=5e-6)
    assert found.linf == pytest.approx(1.2)
    assert found.log_p99 == pytest.approx(0.18232, abs=5e-6)
    assert found.green_p99 == pytest.approx(0.22)
    assert found.dirichlet == pytest.approx(4.13444, abs=5e-6)


@pytest.mark.parametrize(("shear", "expected"), [(1.0, (GOLDEN, 1 / GOLDEN)), (0.2, (1.10499, 0.90499))])
def test_simple_shear_has_the_golden_ratio(shear, expected):
    vertices, base = flat_sheet()
    moved = vertices.copy()
    moved[:, 0] += shear * vertices[:, 2]
    stretches, _ = stretch_of(base, moved)
    np.testing.assert_allclose(stretches, np.tile(expected, (len(stretches), 1)), atol=5e-6)


def test_rigid_motion_does_not_stretch():
    vertices, faces = icosphere(0.3, level=3)
    base = base_triangles(vertices, faces)
    stretches, found = stretch_of(base, turned(vertices, shift=(1.0, 2.0, 3.0)))
    np.testing.assert_allclose(stretches, 1.0, atol=1e-12)
    assert found.dirichlet == pytest.approx(4.0)
    assert found.log_p99 < 1e-12


def test_shrinking_counts_as_much_as_growing():
    vertices, base = flat_sheet()
    grown, shrunk = (log_stretch(stretch_of(base, vertices * scale)[0]) for scale in (1.25, 0.8))
    np.testing.assert_allclose(grown, shrunk, atol=1e-12)


def test_stretches_are_the_singular_values_of_the_gradient():
    rng = np.random.default_rng(3)
    vertices, faces = icosphere(1.0, level=2)
    moved = vertices + 0.1 * rng.normal(size=vertices.shape)
    base = base_triangles(vertices, faces)
    stretches = principal_stretches(metrics(base, moved))
    for face in range(0, len(faces), 17):
        sides = np.diff(vertices[faces[face]], axis=0).T
        plane = np.linalg.qr(sides)[0]
        gradient = np.diff(moved[faces[face]], axis=0).T @ np.linalg.inv(plane.T @ sides)
        np.testing.assert_allclose(stretches[face], np.linalg.svd(gradient, compute_uv=False), rtol=1e-10)


def test_triangles_without_area_do_not_count():
    vertices = np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0], [0, 1, 0]])
    base = base_triangles(vertices, np.array([[0, 1, 2], [0, 1, 3]]))
    moved = vertices * np.array([2.0, 1.0, 1.0])
    stretches, found = stretch_of(base, moved)
    np.testing.assert_allclose(stretches, [[1.0, 1.0], [2.0, 1.0]])
    assert found.linf == 2.0


def test_a_triangle_that_collapses_has_a_finite_logarithm():
    vertices, base = flat_sheet()
    stretches, found = stretch_of(base, vertices * np.array([1.0, 1.0, 0.0]))
    assert np.isfinite(log_stretch(stretches)).all()
    assert found.log_p99 > 10


def relative_to_skin(body, faces, moved_body, cloth, cloth_faces, moved_cloth):
    feet = closest(Tree(body, faces), cloth)
    skin = skin_stretch(body, faces, feet.faces, feet.barycentric)
    base = base_triangles(cloth, cloth_faces)
    on_skin = skin_metrics(skin, base, moved_body)
    return principal_stretches(metrics(base, moved_cloth), against=on_skin)


def test_cloth_that_grows_with_the_skin_is_not_stretched_against_it():
    body, faces = icosphere(0.2, level=4)
    cloth, cloth_faces = icosphere(0.21, level=3)
    relative = relative_to_skin(body, faces, 1.3 * body, cloth, cloth_faces, 1.3 * cloth)
    np.testing.assert_allclose(relative, 1.0, atol=0.01)


def test_a_directed_stretch_is_divided_direction_by_direction():
    """Skin 30 % longer in x, cloth 30 % longer in x and 10 % in z: what is left is 10 % in z."""
    body, faces = sheet(1.0, count=20)
    cloth, cloth_faces = sheet(0.8, count=9, height=0.01)
    relative = relative_to_skin(
        body, faces, body * np.array([1.3, 1.0, 1.0]), cloth, cloth_faces, cloth * np.array([1.3, 1.0, 1.1])
    )
    np.testing.assert_allclose(relative, np.tile([1.1, 1.0], (len(relative), 1)), atol=1e-9)


def test_still_cloth_on_growing_skin_is_short_by_its_growth():
    body, faces = sheet(1.0, count=20)
    cloth, cloth_faces = sheet(0.8, count=9, height=0.01)
    relative = relative_to_skin(body, faces, 1.25 * body, cloth, cloth_faces, cloth)
    np.testing.assert_allclose(relative, 0.8, atol=1e-9)


def test_the_departure_is_the_largest_over_all_directions():
    """Against a fan of 3,600 directions, for any two metrics; the skin's from nearly flat to five times as long."""
    rng = np.random.default_rng(7)
    fields = rng.normal(size=(2, 400, 2, 2)) + 0.7 * np.eye(2)
    cloth, skin = (np.einsum("fki,fkj->fij", each, each) + 1e-3 * np.eye(2) for each in fields)
    angles = np.linspace(0.0, np.pi, 3600, endpoint=False)
    ways = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    own, on_skin = (0.5 * np.log(np.einsum("ai,fij,aj->fa", ways, each, ways)) for each in (cloth, skin))
    fan = np.maximum(own - np.maximum(on_skin, 0.0), np.minimum(on_skin, 0.0) - own).max(axis=1)
    packed = [np.stack([each[:, 0, 0], each[:, 0, 1], each[:, 1, 1]], axis=1) for each in (cloth, skin)]
    found = departure(*packed)
    np.testing.assert_allclose(found, np.maximum(fan, 0.0), atol=2e-3)
    assert (found >= fan - 1e-9).all()
    assert (found > 0.1).sum() > 100
    assert (fan <= 0.0).any()


def test_cloth_that_keeps_its_lengths_is_not_stretched_whatever_the_skin_does():
    vertices, base = flat_sheet()
    still = metrics(base, turned(vertices))
    folded_skin, long_skin = np.tile([0.01, 0.0, 1.0], (len(still), 1)), np.tile([9.0, 0.0, 9.0], (len(still), 1))
    assert departure(still, folded_skin).max() < 1e-9
    assert departure(still, long_skin).max() < 1e-9
    longer = metrics(base, vertices * np.array([1.2, 1.0, 1.0]))
    np.testing.assert_allclose(departure(longer, folded_skin), np.log(1.2), atol=1e-12)
    assert departure(longer, long_skin).max() < 1e-9


def test_refining_the_cloth_changes_no_norm():
    found = []
    for count in (10, 40):
        vertices, faces = sheet(1.0, count=count)
        moved = vertices.copy()
        moved[:, 0] = np.exp(0.5 * vertices[:, 0])
        found.append(stretch_of(base_triangles(vertices, faces), moved)[1])
    assert found[0].l2 == pytest.approx(found[1].l2, rel=0.01)
    assert found[0].log_p99 == pytest.approx(found[1].log_p99, rel=0.12)
