import igl
import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.mesh.rays import blocked, first_hit
from dressform.mesh.tree import Tree
from meshes import sheet, soup, sphere, torus

RNG = np.random.default_rng(23)


def directions(count):
    ways = RNG.normal(size=(count, 3))
    return ways / np.linalg.norm(ways, axis=1)[:, None]


def brute(vertices, faces, origin, way):
    """First distance at which a ray meets any triangle, by solving for the plane point's coordinates."""
    a, b, c = (vertices[faces[:, corner]] for corner in range(3))
    systems = np.stack([b - a, c - a, np.broadcast_to(-way, a.shape)], axis=2)
    proper = np.abs(np.linalg.det(systems)) > 1e-14
    u, v, t = np.linalg.solve(systems[proper], (origin - a[proper])[..., None])[..., 0].T
    met = (u >= 0) & (v >= 0) & (u + v <= 1) & (t >= 0)
    return t[met].min(initial=np.inf)


def test_distance_to_the_sphere_is_the_root_of_its_quadratic():
    origins, ways = 2 * directions(3000), directions(3000)
    along = np.einsum("qi,qi->q", origins, ways)
    under = along**2 - 3
    hits = first_hit(Tree(*sphere(5)), origins, ways)
    clear = np.abs(under) > 0.02
    meets = (under > 0) & (along < 0)
    assert np.array_equal(hits.blocked[clear], meets[clear])
    steep = meets & (under > 0.1)
    assert np.abs(hits.distances + along + np.sqrt(np.maximum(under, 0)))[steep].max() < 5e-3


@pytest.mark.parametrize("mesh", [soup(200, seed=3), torus(1.0, 0.3, around=20, across=10)], ids=["soup", "torus"])
def test_first_hit_equals_brute_force(mesh):
    origins, ways = RNG.uniform(-1.5, 1.5, (300, 3)), directions(300)
    hits = first_hit(Tree(*mesh), origins, ways)
    expected = [brute(*mesh, origin, way) for origin, way in zip(origins, ways)]
    assert np.allclose(hits.distances, expected, rtol=1e-9)


def test_first_hit_agrees_with_igl():
    vertices, faces = torus(1.0, 0.3)
    origins, ways = RNG.uniform(-1.5, 1.5, (1000, 3)), directions(1000)
    hits = first_hit(Tree(vertices, faces), origins, ways)
    for origin, way, distance in zip(origins, ways, hits.distances):
        theirs = igl.ray_mesh_intersect(origin, way, vertices, faces)
        nearest = min((hit[1] for hit in theirs or ()), default=np.inf)
        assert distance == pytest.approx(nearest, rel=1e-5)  # igl keeps hits in single precision


def test_rays_through_sides_and_corners_hit():
    vertices, faces = sphere(4)
    tree = Tree(vertices, faces)
    share = RNG.uniform(0, 1, (len(faces), 1))
    targets = np.concatenate(
        [vertices, 0.5 * (vertices[faces[:, 0]] + vertices[faces[:, 1]])]
        + [share * vertices[faces[:, k]] + (1 - share) * vertices[faces[:, (k + 1) % 3]] for k in range(3)]
    )
    for start in (np.zeros(3), np.array([0.1, -0.2, 0.3]), np.array([0.0, 0.0, 0.5])):
        hits = first_hit(tree, np.broadcast_to(start, targets.shape).copy(), targets - start)
        assert np.allclose(hits.distances, 1, atol=1e-3)
        assert hits.blocked.all()


@pytest.mark.parametrize("axis", range(3))
def test_rays_along_an_axis_through_every_vertex_of_a_sheet_hit(axis):
    vertices, faces = sheet(17, seed=1)
    vertices, way = np.roll(vertices, axis + 1, axis=1), np.roll([0.0, 0, -1], axis + 1)
    for sign in (1, -1):
        hits = first_hit(Tree(vertices, faces), vertices - sign * way, np.tile(sign * way, (len(vertices), 1)))
        assert np.array_equal(hits.distances, np.ones(len(vertices)))


def test_no_ray_slips_out_of_a_closed_mesh():
    vertices, faces = torus(1.0, 0.3, around=60, across=30)
    turn = RNG.uniform(0, 2 * np.pi, 50_000)
    origins = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)
    assert first_hit(Tree(vertices, faces), origins, directions(50_000)).blocked.all()


def test_a_ray_in_the_plane_of_a_sheet_passes_it():
    vertices, faces = sheet(5)
    hits = first_hit(Tree(vertices, faces), np.array([[-1.0, 0.3, 0.0]]), np.array([[1.0, 0.1, 0.0]]))
    assert not hits.blocked.any()


def test_near_and_far_bound_the_search_inclusively():
    tree = Tree(*sheet(3))
    up = np.tile([0.0, 0, 1.0], (5, 1))
    below = np.tile([0.3, 0.4, -1.0], (5, 1))
    near, far = np.array([0.0, 1.0, 1.1, 0.0, 0.0]), np.array([np.inf, np.inf, np.inf, 1.0, 0.9])
    hits = first_hit(tree, below, up, near=near, far=far)
    assert np.array_equal(hits.blocked, [True, True, False, True, False])
    assert np.array_equal(blocked(tree, below, up, near=near, far=far).blocked, hits.blocked)


def test_behind_the_origin_nothing_is_hit():
    assert not first_hit(Tree(*sheet(3)), np.array([[0.3, 0.4, 1.0]]), np.array([[0.0, 0, 1.0]])).blocked[0]


def test_a_near_bound_steps_over_the_face_that_the_ray_starts_on():
    vertices, faces = sphere(3)
    centres = vertices[faces].mean(axis=1)
    tree = Tree(vertices, faces)
    assert not blocked(tree, centres, centres, near=1e-6).blocked.any()
    through = first_hit(tree, centres, -centres, near=1e-6)
    assert np.allclose(through.distances, 2, atol=0.02)


def test_distance_is_counted_in_lengths_of_the_direction():
    tree = Tree(*sheet(3))
    start = np.array([[0.3, 0.4, 1.0]])
    assert first_hit(tree, start, np.array([[0.0, 0, -4.0]])).distances[0] == 0.25


def test_blocked_agrees_with_first_hit_and_names_a_face_that_is_in_the_way():
    vertices, faces = soup(400, seed=11)
    tree = Tree(vertices, faces)
    origins, ways = RNG.uniform(-1.5, 1.5, (3000, 3)), directions(3000)
    first, any_face = first_hit(tree, origins, ways), blocked(tree, origins, ways)
    assert np.array_equal(first.blocked, any_face.blocked)
    assert 0.1 < first.blocked.mean() < 0.99
    for ray in np.flatnonzero(any_face.blocked)[:200]:
        face = faces[any_face.faces[ray : ray + 1]]
        assert brute(vertices, face, origins[ray], ways[ray]) == pytest.approx(any_face.distances[ray], rel=1e-9)


@pytest.mark.parametrize("guess", ["right", "random"])
def test_a_guessed_face_changes_no_verdict(guess):
    vertices, faces = soup(400, seed=12)
    tree = Tree(vertices, faces)
    origins, ways = RNG.uniform(-1.5, 1.5, (3000, 3)), directions(3000)
    plain = blocked(tree, origins, ways, near=0.05, far=1.5)
    faces_first = plain.faces if guess == "right" else RNG.integers(-1, 400, 3000)
    assert np.array_equal(
        blocked(tree, origins, ways, near=0.05, far=1.5, guess_faces=faces_first).blocked, plain.blocked
    )


def test_degenerate_triangles_are_never_hit():
    vertices = np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]])
    hits = first_hit(Tree(vertices, np.array([[0, 1, 2]])), np.array([[0.5, 0, 1.0]]), np.array([[0.0, 0, -1]]))
    assert not hits.blocked[0]


def test_a_direction_of_no_length_is_refused():
    with pytest.raises(ArgumentError, match="first_hit: `directions` must be of some length, got 0 at ray 1"):
        first_hit(Tree(*sheet(3)), np.zeros((2, 3)), np.array([[1.0, 0, 0], [0, 0, 0]]))


def test_guesses_outside_the_mesh_are_refused():
    with pytest.raises(ArgumentError, match=r"blocked: `guess_faces` must be 1 faces below 8, or -1, got .* to 8"):
        blocked(Tree(*sheet(3)), np.zeros((1, 3)), np.ones((1, 3)), guess_faces=np.array([8]))


def test_an_origin_that_is_not_finite_is_refused():
    with pytest.raises(ArgumentError, match="blocked: `origins` must be finite"):
        blocked(Tree(*sheet(3)), np.full((1, 3), np.inf), np.ones((1, 3)))
