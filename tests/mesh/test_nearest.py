import igl
import numpy as np
import pytest
import trimesh

from dressform.errors import ArgumentError
from dressform.mesh.geometry import face_normals
from dressform.mesh.nearest import closest, signed_clearance
from dressform.mesh.tree import Tree
from meshes import box, sheet, soup, sphere, torus, tube
from realdata import real

RNG = np.random.default_rng(17)


def brute(vertices, faces, queries):
    """Distance to every triangle: to its plane where the foot lies inside, else to the nearest of its sides."""
    a, b, c = (vertices[faces[:, corner]] for corner in range(3))
    p = queries[:, None]
    normal = np.cross(b - a, c - a)
    area = np.linalg.norm(normal, axis=1)
    best = np.full((len(queries), len(faces)), np.inf)
    inside = np.tile(area > 0, (len(queries), 1))
    for u, v in ((a, b), (b, c), (c, a)):
        side = v - u
        length2 = np.einsum("fi,fi->f", side, side)
        share = np.einsum("qfi,fi->qf", p - u, side) / np.where(length2 > 0, length2, 1)
        foot = u + np.clip(share, 0, 1)[..., None] * side
        best = np.minimum(best, np.linalg.norm(p - foot, axis=2))
        inside &= np.einsum("qfi,fi->qf", np.cross(side, p - u), normal) >= 0
    height = np.abs(np.einsum("qfi,fi->qf", p - a, normal)) / np.where(area > 0, area, 1)
    return np.where(inside, np.minimum(best, height), best)


@pytest.mark.parametrize(
    "mesh",
    [sphere(2), torus(1.0, 0.3, around=20, across=10), soup(300, seed=5), box()],
    ids=["ball", "torus", "soup", "box"],
)
def test_closest_equals_brute_force(mesh):
    queries = RNG.uniform(-1.5, 1.5, (300, 3))
    found = closest(Tree(*mesh), queries)
    assert np.allclose(found.distances, brute(*mesh, queries).min(axis=1), rtol=0, atol=1e-8)


def test_closest_agrees_with_igl():
    vertices, faces = torus(1.0, 0.3)
    queries = RNG.uniform(-1.5, 1.5, (3000, 3))
    found = closest(Tree(vertices, faces), queries)
    squared, _, points = igl.point_mesh_squared_distance(queries, vertices, faces)
    assert np.allclose(found.distances**2, squared, rtol=1e-12, atol=1e-14)
    assert np.allclose(found.points, points, atol=1e-9)


def test_points_distances_and_barycentric_coordinates_belong_together():
    vertices, faces = soup(300, seed=6)
    queries = RNG.uniform(-1.5, 1.5, (2000, 3))
    found = closest(Tree(vertices, faces), queries)
    assert np.allclose(found.barycentric.sum(axis=1), 1, atol=1e-15)
    assert found.barycentric.min() >= 0
    assert np.allclose(
        np.einsum("qc,qcx->qx", found.barycentric, vertices[faces[found.faces]]), found.points, atol=1e-14
    )
    assert np.allclose(np.linalg.norm(queries - found.points, axis=1), found.distances, atol=1e-14)


def test_a_point_on_a_vertex_or_side_finds_it_exactly():
    vertices, faces = sphere(3)
    tree = Tree(vertices, faces)
    at_vertices = closest(tree, vertices)
    assert not at_vertices.distances.any()
    assert (np.sort(at_vertices.barycentric, axis=1) == (0, 0, 1)).all()
    middles = 0.5 * (vertices[faces[:, 0]] + vertices[faces[:, 1]])
    assert closest(tree, middles).distances.max() < 1e-16


def test_clearance_of_offset_sphere_is_the_offset():
    errors = []
    for level in (3, 4, 5):
        vertices, faces = sphere(level)
        ways = RNG.normal(size=(500, 3))
        ways /= np.linalg.norm(ways, axis=1)[:, None]
        radii = RNG.uniform(0.5, 1.5, 500)
        clearance, _ = signed_clearance(Tree(vertices, faces), ways * radii[:, None])
        errors.append(np.abs(clearance - (radii - 1)).max())
    assert errors[-1] < 1e-3
    assert np.allclose(np.log2(np.array(errors[:-1]) / errors[1:]), 2, atol=0.3)


def test_clearance_of_the_torus():
    queries = RNG.uniform(-1.6, 1.6, (2000, 3)) * (1, 1, 0.4)
    expected = np.hypot(np.hypot(queries[:, 0], queries[:, 1]) - 1.0, queries[:, 2]) - 0.4
    clearance, _ = signed_clearance(Tree(*torus(1.0, 0.4, around=300, across=150)), queries)
    assert np.abs(clearance - expected).max() < 1e-3


def test_clearance_of_a_point_outside_a_sharp_corner():
    # a needle whose tip leans over: the nearest point is the tip, and two of the three faces there look away
    vertices = np.array([[0.0, 0, 0], [1, 0, 0], [0, 0, 1], [3, 1, 3]])
    faces = np.array([[0, 1, 2], [0, 3, 1], [1, 3, 2], [2, 3, 0]])
    ways = RNG.normal(size=(4000, 3))
    queries = vertices[3] + 0.2 * ways / np.linalg.norm(ways, axis=1)[:, None]
    clearance, found = signed_clearance(Tree(vertices, faces), queries)
    exact = igl.winding_number(vertices, faces, queries) > 0.5
    assert np.array_equal(clearance < 0, exact)
    tip = (found.barycentric == 1).any(axis=1) & (found.distances > 0.19)
    behind = np.einsum("qi,qi->q", face_normals(vertices, faces)[found.faces], queries - found.points) < 0
    assert (tip & behind).any()  # the plain face normal would have been wrong here


def test_clearance_sign_agrees_with_igl_on_closed_meshes():
    vertices, faces = torus(1.0, 0.3, around=20, across=8)
    queries = RNG.uniform(-1.5, 1.5, (3000, 3)) * (1, 1, 0.4)
    clearance, _ = signed_clearance(Tree(vertices, faces), queries)
    theirs = igl.signed_distance(queries, vertices, faces, igl.SIGNED_DISTANCE_TYPE_PSEUDONORMAL)[0]
    assert np.allclose(clearance, theirs, atol=1e-12)


def test_clearance_on_the_surface_is_zero():
    vertices, faces = box()
    clearance, _ = signed_clearance(Tree(vertices, faces), vertices)
    assert not clearance.any()


def test_normals_admit_only_faces_that_agree():
    vertices, faces = torus(1.0, 0.3, around=20, across=10)
    queries = RNG.uniform(-1.5, 1.5, (300, 3))
    ways = RNG.normal(size=(300, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    found = closest(Tree(vertices, faces), queries, normals=ways, min_cosine=0.6)
    agree = ways @ face_normals(vertices, faces).T >= 0.6
    expected = np.where(agree, brute(vertices, faces, queries), np.inf).min(axis=1)
    assert np.allclose(found.distances, expected, atol=1e-9)
    assert (expected > brute(vertices, faces, queries).min(axis=1) + 1e-3).mean() > 0.3  # the gate did shut faces out


def test_normals_alone_admit_the_facing_half():
    vertices, faces = sphere(5)
    inside = np.array([[0.9, 0.0, 0.0]])
    back = closest(Tree(vertices, faces), inside, normals=np.array([[-1.0, 0, 0]]))
    assert closest(Tree(vertices, faces), inside).distances[0] == pytest.approx(0.1, abs=0.01)
    assert back.distances[0] == pytest.approx(np.hypot(0.9, 1.0), abs=0.03)  # the rim of the half that looks along -x


def test_where_no_face_agrees_nothing_is_found():
    vertices, faces = sheet(4)
    found = closest(
        Tree(vertices, faces), np.array([[0.5, 0.5, 0.1], [0.2, 0.2, 1.0]]), normals=np.array([[0, 0, -1.0], [0, 0, 1]])
    )
    assert found.faces[0] == -1
    assert np.isnan(found.points[0]).all()
    assert found.distances[0] == np.inf
    assert not found.barycentric[0].any()
    assert found.distances[1] == pytest.approx(1.0)
    clearance, _ = signed_clearance(
        Tree(vertices, faces), np.array([[0.5, 0.5, 0.1]]), normals=np.array([[0.0, 0, -1]]), min_cosine=0.5
    )
    assert np.isnan(clearance[0])


def test_within_leaves_out_what_is_farther():
    vertices, faces = sheet(4)
    found = closest(Tree(vertices, faces), np.array([[0.5, 0.5, 0.1], [0.5, 0.5, 0.3]]), within=0.2)
    assert np.array_equal(found.faces >= 0, [True, False])


@pytest.mark.parametrize("guess", ["right", "random", "some"])
def test_a_start_face_changes_no_distance(guess):
    vertices, faces = soup(400, seed=9)
    tree = Tree(vertices, faces)
    queries = RNG.uniform(-1.2, 1.2, (1000, 3))
    plain = closest(tree, queries)
    start = plain.faces if guess == "right" else RNG.integers(-1 if guess == "some" else 0, 400, 1000)
    assert np.array_equal(closest(tree, queries, start_faces=start).distances, plain.distances)


def test_a_start_face_that_disagrees_is_not_accepted():
    vertices, faces = sphere(2)
    tree = Tree(vertices, faces)
    way = np.array([[1.0, 0, 0]])
    wrong = closest(tree, -way).faces
    found = closest(tree, -2 * way, normals=way, min_cosine=0.5, start_faces=wrong)
    assert face_normals(vertices, faces)[found.faces[0], 0] >= 0.5


@pytest.mark.parametrize("thin", [1e-3, 1e-6, 1e-9, 1e-12, 0.0])
def test_needles_are_measured_right(thin):
    vertices, faces = sheet(9, seed=2)
    vertices = vertices * (1, thin, 1)
    queries = RNG.uniform(-0.2, 1.2, (300, 3)) * (1, 1, 0.5)
    expected = np.linalg.norm(queries - np.clip(queries, 0, (1, thin, 0)), axis=1)
    found = closest(Tree(vertices, faces), queries)
    assert np.allclose(found.distances, expected, rtol=0, atol=2e-8)
    assert np.isfinite(found.points).all()


def test_far_and_tiny_meshes_are_measured_right():
    vertices, faces = sphere(2)
    queries = RNG.uniform(-2, 2, (200, 3))
    plain = closest(Tree(vertices, faces), queries).distances
    assert np.allclose(closest(Tree(1e-6 * vertices, faces), 1e-6 * queries).distances, 1e-6 * plain, rtol=1e-9)
    assert np.allclose(closest(Tree(vertices + 1e4, faces), queries + 1e4).distances, plain, atol=1e-10)


def test_no_queries_give_no_answers():
    assert len(closest(Tree(*sphere(1)), np.zeros((0, 3))).faces) == 0


def test_an_open_tube_has_an_inner_and_an_outer_side():
    clearance, _ = signed_clearance(Tree(*tube((1.0, 1.0), 2.0)), np.array([[0.5, 1.0, 0], [1.5, 1.0, 0]]))
    assert np.allclose(clearance, [-0.5, 0.5], atol=5e-3)


@pytest.mark.data
def test_agrees_with_igl_on_a_real_body():
    body = trimesh.load(real("bodies/mean_all.obj"), process=False, maintain_order=True)
    vertices, faces = np.array(body.vertices), np.array(body.faces)
    queries = vertices[::7] + RNG.normal(size=(len(vertices[::7]), 3)) * 0.02
    clearance, found = signed_clearance(Tree(vertices, faces), queries)
    squared, _, _ = igl.point_mesh_squared_distance(queries, vertices, faces)
    assert np.allclose(found.distances, np.sqrt(squared), atol=1e-13)
    inside = igl.winding_number(vertices, faces, queries) > 0.5
    assert (inside == (clearance < 0)).mean() > 0.999  # the body meets itself in 145 pairs of faces


def test_a_query_that_is_not_finite_is_refused():
    with pytest.raises(ArgumentError, match=r"closest: `queries` must be finite, got \[nan, 0.0, 0.0\] at row 1"):
        closest(Tree(*sphere(1)), np.array([[0, 0, 0], [np.nan, 0, 0]]))


def test_a_cosine_without_normals_is_refused():
    with pytest.raises(ArgumentError, match="closest: `normals` must be given with `min_cosine`"):
        closest(Tree(*sphere(1)), np.zeros((1, 3)), min_cosine=0.5)


def test_start_faces_outside_the_mesh_are_refused():
    with pytest.raises(ArgumentError, match=r"closest: `start_faces` must be 1 faces below 80, or -1, got .* to 80"):
        closest(Tree(*sphere(1)), np.zeros((1, 3)), start_faces=np.array([80]))
