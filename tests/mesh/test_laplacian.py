import igl
import numpy as np
import pytest
import robust_laplacian
import scipy.sparse.linalg as linalg

from dressform.mesh.laplacian import MOLLIFY, cotangent, lumped_mass, side_lengths
from meshes import sheet, soup, sphere, torus


def smallest_eigenvalues(vertices, faces, count):
    stiffness, mass = cotangent(vertices, faces).tocsc(), lumped_mass(vertices, faces).tocsc()
    # Eigenvalues come in clusters of up to nine; a random start and a small basis now and then miss a member.
    start = np.random.default_rng(0).normal(size=len(vertices))
    found = linalg.eigsh(
        stiffness, count + 10, mass, sigma=-0.1, ncv=4 * count + 20, v0=start, return_eigenvectors=False
    )
    return np.sort(found)[:count]


@pytest.mark.parametrize("radius", [1.0, 0.2])
def test_eigenvalues_on_the_sphere_are_those_of_spherical_harmonics(radius):
    expected = np.repeat([degree * (degree + 1) for degree in range(5)], [1, 3, 5, 7, 9]) / radius**2
    found = smallest_eigenvalues(*sphere(4, radius=radius), 25)
    assert np.allclose(found[1:], expected[1:], rtol=0.01)
    assert abs(found[0]) < 1e-8 / radius**2


def test_eigenvalues_converge_at_second_order():
    errors = [abs(smallest_eigenvalues(*sphere(level), 9)[4:].mean() - 6) for level in (2, 3, 4)]
    assert np.allclose(np.log2(np.array(errors[:-1]) / errors[1:]), 2, atol=0.2)


@pytest.mark.parametrize("seed", range(3))
def test_linear_functions_on_a_flat_sheet_are_harmonic(seed):
    vertices, faces = sheet(12, seed=seed)
    inner = (vertices[:, :2] > 0).all(axis=1) & (vertices[:, :2] < 1).all(axis=1)
    assert np.abs((cotangent(vertices, faces) @ vertices)[inner]).max() < 1e-9


def test_energy_of_a_linear_function_is_area_times_slope_squared():
    vertices, faces = sheet(9, seed=4)
    height = 3 * vertices[:, 0] + 4 * vertices[:, 1]
    assert height @ cotangent(vertices, faces) @ height == pytest.approx(25, rel=1e-9)


def test_agrees_with_igl_where_the_mesh_is_delaunay():
    vertices, faces = sphere(3)
    assert abs(cotangent(vertices, faces, mollify=0.0) + igl.cotmatrix(vertices, faces)).max() < 1e-12


def sheared_torus():
    vertices, faces = torus(1.0, 0.4, around=30, across=20)
    return vertices @ [[1.0, 0, 0], [1.5, 1, 0], [0, 0, 1]], faces


def test_agrees_with_igl_after_flips():
    vertices, faces = sheared_torus()
    flipped, _, _ = igl.intrinsic_delaunay_cotmatrix(vertices, faces)
    assert abs(igl.cotmatrix(vertices, faces) - flipped).max() > 0.1
    assert abs(cotangent(vertices, faces, mollify=0.0) + flipped).max() < 1e-9


def test_agrees_with_the_robust_laplacian_on_manifold_meshes():
    vertices, faces = sheared_torus()
    robust, mass = robust_laplacian.mesh_laplacian(vertices, faces)
    ours = cotangent(vertices, faces)
    u = np.random.default_rng(0).normal(size=(len(vertices), 4))
    # mollified by different lengths, hence close but not equal
    assert np.allclose(ours @ u, robust @ u, atol=2e-4 * abs(ours).max())
    assert lumped_mass(vertices, faces).diagonal().sum() == pytest.approx(mass.diagonal().sum(), rel=2e-3)


def is_semidefinite(matrix):
    values = np.linalg.eigvalsh(matrix.toarray())
    return values[0] > -1e-12 * values[-1]


def cases():
    vertices, faces = sheet(7, seed=1)
    needles = vertices * (1, 1e-7, 1)
    fin = (np.concatenate([vertices, [[0.5, 0.5, 1.0]]]), np.concatenate([faces, [[24, 25, 49], [24, 31, 49]]]))
    yield pytest.param(needles, faces, id="needles")
    yield pytest.param(*fin, id="branching")
    yield pytest.param(*soup(40, seed=2), id="soup")
    coincident = vertices.copy()
    coincident[24] = coincident[25]
    yield pytest.param(coincident, faces, id="coincident")
    yield pytest.param(vertices, np.concatenate([faces, faces[10:20], faces[20:25, ::-1]]), id="duplicate")


@pytest.mark.parametrize(("vertices", "faces"), tuple(cases()))
def test_untidy_meshes_give_a_finite_semidefinite_matrix_with_constant_kernel(vertices, faces):
    matrix = cotangent(vertices, faces)
    assert np.isfinite(matrix.data).all()
    assert abs(matrix - matrix.T).max() <= 1e-12 * abs(matrix).max()
    assert np.abs(matrix @ np.ones(len(vertices))).max() <= 1e-9 * abs(matrix).max()
    assert is_semidefinite(matrix)


@pytest.mark.parametrize("seed", range(3))
def test_weights_are_never_negative_on_manifold_meshes(seed):
    vertices, faces = sheet(12, seed=seed)
    vertices = vertices * (1, 0.1, 1)  # stretched: many obtuse triangles
    matrix = cotangent(vertices, faces)
    off = matrix.toarray()
    np.fill_diagonal(off, 0)
    inner = (vertices[:, :2] > 0).all(axis=1) & (vertices[:, :2] < (1, 0.1)).all(axis=1)
    assert igl.cotmatrix(vertices, faces).toarray()[inner].min() < -0.1
    assert off[inner].max() < 1e-12


def test_mollified_triangles_keep_the_slack_asked_for():
    vertices, faces = soup(60, seed=8)
    lengths = side_lengths(vertices, faces)
    plain = side_lengths(vertices, faces, mollify=0.0)
    slack = lengths.sum(axis=1) - 2 * lengths.max(axis=1)
    assert slack.min() >= 0.999 * MOLLIFY * plain.mean()
    assert np.ptp(lengths - plain) < 1e-12  # the same amount for every side


def test_proper_triangles_keep_their_lengths():
    vertices, faces = sphere(2)
    expected = np.linalg.norm(vertices[faces[:, 1]] - vertices[faces[:, 2]], axis=1)
    assert np.allclose(side_lengths(vertices, faces)[:, 0], expected, rtol=1e-15)


def test_a_mesh_without_faces_has_a_zero_matrix():
    assert cotangent(np.zeros((4, 3)), np.zeros((0, 3), dtype=np.int64)).shape == (4, 4)
    assert cotangent(np.zeros((4, 3)), np.zeros((0, 3), dtype=np.int64)).nnz == 0
