from fractions import Fraction

import igl.predicates
import numpy as np
import pytest
import trimesh
from scipy.optimize import lsq_linear

from dressform.errors import ArgumentError
from dressform.mesh.geometry import face_normals
from dressform.mesh.intersect import crossing_pairs, near_pairs, self_crossings
from dressform.mesh.tree import Tree
from meshes import joined, sheet, soup, sphere, torus, tube
from realdata import real

RNG = np.random.default_rng(41)


def rows(pairs):
    return set(map(tuple, np.asarray(pairs).tolist()))


def with_surface(vertices, faces):
    return np.flatnonzero(face_normals(vertices, faces).any(axis=1))


def exact_pairs(mesh_a, mesh_b):
    kept_a, kept_b = with_surface(*mesh_a), with_surface(*mesh_b)
    found = igl.predicates.find_intersections(mesh_a[0], mesh_a[1][kept_a], mesh_b[0], mesh_b[1][kept_b])[1]
    return rows(np.stack([kept_a[found[:, 0]], kept_b[found[:, 1]]], axis=1))


def exact_self(vertices, faces):
    """Exact pairs of the mesh with itself, without those that share a corner; they are judged one by one below."""
    found = exact_pairs((vertices, faces), (vertices, faces))
    return {(i, j) for i, j in found if i < j and not set(faces[i]) & set(faces[j])}


def apart(faces, pairs):
    return {(i, j) for i, j in rows(pairs) if not set(faces[i]) & set(faces[j])}


def fraction_meets(p, q, a, b, c):
    """Whether the segment p, q touches the triangle a, b, c, in rational numbers, by clipping it to the triangle."""
    p, q, a, b, c = ([Fraction(float(x)) for x in point] for point in (p, q, a, b, c))

    def minus(u, v):
        return [x - y for x, y in zip(u, v)]

    def dot(u, v):
        return sum(x * y for x, y in zip(u, v))

    def cross(u, v):
        return [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]]

    normal = cross(minus(b, a), minus(c, a))
    low, high = Fraction(0), Fraction(1)
    limits = [(normal, a), ([-x for x in normal], a)]  # in the plane, and on the inner side of every side
    limits += [(cross(normal, minus(v, u)), u) for u, v in ((a, b), (b, c), (c, a))]
    for way, at in limits:
        start, slope = dot(minus(p, at), way), dot(minus(q, p), way)
        if slope == 0:
            if start < 0:
                return False
        elif slope > 0:
            low = max(low, -start / slope)
        else:
            high = min(high, -start / slope)
    return low <= high


def fraction_neighbours(vertices, faces):
    """Pairs that share one corner and meet elsewhere, in rational numbers."""
    found = set()
    for j in range(len(faces)):
        for i in range(j):
            common = set(faces[i]) & set(faces[j])
            if len(common) == 1:
                for one, other in ((faces[i], faces[j]), (faces[j], faces[i])):
                    p, q = (vertices[v] for v in one if v not in common)
                    if fraction_meets(p, q, *vertices[other]):
                        found.add((i, j))
    return found


def moved(mesh, shift):
    return mesh[0] + np.asarray(shift), mesh[1]


@pytest.mark.parametrize(
    ("mesh_a", "mesh_b"),
    [
        (soup(300, seed=1), soup(300, seed=2)),
        (sphere(3), moved(sphere(3), (0.5, 0.1, 0))),
        (torus(1.0, 0.3), tube((1.0, 1.0), 1.0)),
        (sphere(2), sphere(2)),  # all touch, all flat on flat
        (sheet(6), moved(sheet(6), (0.1, 0.1, 0))),  # one plane
        (sheet(6), moved(sheet(7), (1.0, 0, 0))),  # meet along a line
        (sheet(5), (np.roll(sheet(5)[0], 1, axis=1), sheet(5)[1])),  # corners on planes
    ],
    ids=["soups", "spheres", "torus-tube", "same", "one-plane", "edge-on-edge", "corner-on-plane"],
)
def test_crossings_are_those_of_exact_arithmetic(mesh_a, mesh_b):
    found = crossing_pairs(Tree(*mesh_a), Tree(*mesh_b))
    assert rows(found) == exact_pairs(mesh_a, mesh_b)
    assert len(found) == len(rows(found)) > 0


def test_faces_without_surface_cross_nothing():
    vertices, faces = soup(300, seed=1)
    flat = np.setdiff1d(np.arange(300), with_surface(vertices, faces))
    assert len(flat) > 20
    found = crossing_pairs(Tree(vertices, faces), Tree(*soup(300, seed=2)))
    assert not np.isin(found[:, 0], flat).any()


def test_crossing_pairs_come_in_rising_order():
    found = crossing_pairs(Tree(*soup(300, seed=1)), Tree(*soup(300, seed=2)))
    assert np.array_equal(found, sorted(map(tuple, found.tolist())))


def test_meshes_that_keep_apart_do_not_cross():
    for gap in (1e-3, 1e-9, 1e-15):
        assert len(crossing_pairs(Tree(*sheet(8)), Tree(*moved(sheet(9), (0, 0, gap))))) == 0
    assert len(crossing_pairs(Tree(*sphere(3)), Tree(*sphere(3, radius=1.05)))) == 0


def test_two_spheres_cross_along_one_ring():
    mesh = sphere(3)
    found = crossing_pairs(Tree(*mesh), Tree(*moved(mesh, (1.0, 0.01, 0.02))))
    centres = mesh[0][mesh[1][found[:, 0]]].mean(axis=1)
    assert np.abs(centres[:, 0] - 0.5).max() < 0.15
    assert np.abs(np.hypot(centres[:, 1], centres[:, 2]) - np.sqrt(0.75)).max() < 0.15


def folded():
    vertices, faces = sheet(8)
    vertices = vertices.copy()
    vertices[:, 2] = 0.3 * np.sin(3 * vertices[:, 0])
    vertices[27] += (0.5, 0.05, -0.1)
    return vertices, faces


def self_cases():
    doubled = sheet(5)
    flap = (np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0.9, 0.8, 0]]), np.array([[0, 1, 2], [0, 1, 3]]))
    opposite = (np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0.2, -1, 0]]), np.array([[0, 1, 2], [1, 0, 3]]))
    pierced = (
        np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0.3, 0.3, 1], [0.3, 0.3, -1]]),
        np.array([[0, 1, 2], [0, 3, 4]]),
    )
    return {
        "soup": soup(400, seed=3),
        "spheres": joined(sphere(2), moved(sphere(2), (0.5, 0.1, 0))),
        "torus": torus(1.0, 0.3),
        "flat sheet": sheet(9),
        "uneven flat sheet": sheet(9, seed=3),
        "folded": folded(),
        "doubled face": (doubled[0], np.concatenate([doubled[1], doubled[1][3:5], doubled[1][7:9, ::-1]])),
        "flap on its neighbour": flap,
        "neighbours in one plane": opposite,
        "pierced through a common corner": pierced,
        "tube pressed flat": (tube((1.0, 1.0), 1.0, around=12)[0] * (1, 1, 0), tube((1.0, 1.0), 1.0, around=12)[1]),
    }


@pytest.mark.parametrize("name", self_cases())
def test_self_crossings_are_those_of_exact_arithmetic(name):
    vertices, faces = self_cases()[name]
    found = self_crossings(vertices, faces)
    assert apart(faces, found) == exact_self(vertices, faces)
    assert (found[:, 0] < found[:, 1]).all()


@pytest.mark.parametrize("seed", range(4))
def test_faces_that_share_a_corner_cross_as_rational_numbers_say(seed):
    rng = np.random.default_rng(seed)
    vertices = rng.integers(-2, 3, (9, 3)).astype(float)  # on a coarse lattice: many flat, touching and in line
    vertices[: 2 * seed, 2] = 0
    faces = np.array([sorted(rng.choice(9, 3, replace=False)) for _ in range(40)])
    faces = np.unique(faces[with_surface(vertices, faces)], axis=0)
    found = {(i, j) for i, j in rows(self_crossings(vertices, faces)) if len(set(faces[i]) & set(faces[j])) == 1}
    assert found == fraction_neighbours(vertices, faces)
    assert found


def test_neighbours_cross_only_where_they_pass_through_or_lie_on_each_other():
    cases = self_cases()
    assert len(self_crossings(*cases["torus"])) == 0
    assert len(self_crossings(*cases["uneven flat sheet"])) == 0
    assert len(self_crossings(*cases["neighbours in one plane"])) == 0
    assert rows(self_crossings(*cases["flap on its neighbour"])) == {(0, 1)}
    assert {(3, 32), (4, 33), (7, 34), (8, 35)} <= rows(self_crossings(*cases["doubled face"]))
    assert rows(self_crossings(*cases["pierced through a common corner"])) == {(0, 1)}
    assert len(self_crossings(*cases["folded"])) > 0


@pytest.mark.data
def test_crossings_of_real_meshes_are_those_of_exact_arithmetic():
    body = trimesh.load(real("bodies/mean_all.obj"), process=False, maintain_order=True)
    shirt = trimesh.load(real("garments/tshirt.obj"), process=False, maintain_order=True)
    centre = shirt.vertices.mean(axis=0)
    cloth = (np.array((shirt.vertices - centre) * 1.26 + centre + (0, -0.072, 0.036)), np.array(shirt.faces))
    skin = (np.array(body.vertices), np.array(body.faces))
    found = crossing_pairs(Tree(*cloth), Tree(*skin))
    assert rows(found) == exact_pairs(cloth, skin)
    assert len(found) > 50
    own = self_crossings(*skin)
    theirs = igl.predicates.find_self_intersections(*skin)[1]
    assert apart(skin[1], own) == apart(skin[1], np.sort(theirs, axis=1))
    assert len(own) > 100  # the lips and the inner mouth


def triangle_distance(p, q):
    """Least distance between two triangles: a convex quadratic over two simplices, one problem per set of corners."""
    best = np.inf
    masks = [[k for k in range(3) if mask >> k & 1] for mask in range(1, 8)]
    for i in masks:
        for j in masks:
            a, b = p[i], q[j]
            system = np.concatenate([(a[1:] - a[0]).T, -(b[1:] - b[0]).T], axis=1)
            offset = b[0] - a[0]
            if system.shape[1] == 0:
                best = min(best, np.linalg.norm(offset))
                continue
            found = lsq_linear(system, offset, (0, 1), method="bvls")
            if found.x[: len(i) - 1].sum() <= 1 + 1e-12 and found.x[len(i) - 1 :].sum() <= 1 + 1e-12:
                best = min(best, np.linalg.norm(system @ found.x - offset))
    return best


def test_lower_bounds_are_distances_and_never_above_them():
    mesh_a, mesh_b = soup(12, seed=20), soup(12, seed=21)
    found = near_pairs(Tree(*mesh_a), Tree(*mesh_b), 0.8)
    assert len(found.pairs) > 20
    for (a, b), bound in zip(found.pairs, found.lower_bounds):
        distance = triangle_distance(mesh_a[0][mesh_a[1][a]], mesh_b[0][mesh_b[1][b]])
        assert distance - 1e-6 <= bound <= distance + 1e-12


def test_near_pairs_leave_none_out():
    mesh_a, mesh_b = soup(250, seed=22, size=0.1), soup(250, seed=23, size=0.1)
    every = near_pairs(Tree(*mesh_a), Tree(*mesh_b), 100.0)
    assert len(every.pairs) == 250 * 250
    for distance in (0.0, 0.02, 0.3):
        found = near_pairs(Tree(*mesh_a), Tree(*mesh_b), distance)
        near = every.lower_bounds <= distance
        assert np.array_equal(found.pairs, every.pairs[near])
        assert np.array_equal(found.lower_bounds, every.lower_bounds[near])


def test_near_pairs_add_the_reach_of_each_face():
    mesh_a, mesh_b = soup(250, seed=24, size=0.1), soup(250, seed=25, size=0.1)
    tree_a, tree_b = Tree(*mesh_a), Tree(*mesh_b)
    every = near_pairs(tree_a, tree_b, 100.0)
    reach_a, reach_b = RNG.uniform(0, 0.2, 250) ** 2, RNG.uniform(0, 0.4, 250) ** 3
    found = near_pairs(tree_a, tree_b, 0.03, reach_a=reach_a, reach_b=reach_b)
    near = every.lower_bounds <= 0.03 + reach_a[every.pairs[:, 0]] + reach_b[every.pairs[:, 1]]
    assert np.array_equal(found.pairs, every.pairs[near])
    assert near.sum() > len(near_pairs(tree_a, tree_b, 0.03).pairs)


def test_pairs_that_cross_have_no_distance():
    tree_a, tree_b = Tree(*soup(300, seed=1)), Tree(*soup(300, seed=2))
    crossing = rows(crossing_pairs(tree_a, tree_b))
    found = near_pairs(tree_a, tree_b, 0.01)
    touching = rows(found.pairs[found.lower_bounds == 0])
    assert crossing <= touching


def test_nested_spheres_keep_the_gap_between_their_radii():
    found = near_pairs(Tree(*sphere(4)), Tree(*sphere(4, radius=1.1)), 0.12)
    assert found.lower_bounds.min() == pytest.approx(0.1, abs=2e-3)
    assert set(found.pairs[:, 0]) == set(range(len(sphere(4)[1])))


def test_nearly_parallel_sides_are_not_overrated():
    # two long needles, one turned by little: the true distance is known from where they cross in projection
    for turn in (1e-3, 1e-6, 1e-8, 1e-10, 0.0):
        a = np.array([[-1.0, 0, 0], [1, 0, 0], [0, -1e-3, -1]])
        way = np.array([np.cos(turn), np.sin(turn), 0])
        b = np.array([-way, way, [0, 1e-3, 1.0]]) + np.array([0, 0, 0.01])
        found = near_pairs(Tree(a, np.array([[0, 1, 2]])), Tree(b, np.array([[0, 1, 2]])), 1.0)
        assert 0.01 - 1e-7 < found.lower_bounds[0] <= 0.01


def test_a_negative_distance_is_refused():
    tree = Tree(*sheet(3))
    with pytest.raises(ArgumentError, match="near_pairs: `distance` must be finite and at least 0 m, got -1"):
        near_pairs(tree, tree, -1.0)


@pytest.mark.parametrize("reach", [np.full(8, -0.1), np.zeros(7), np.full(8, np.nan)])
def test_a_reach_that_is_no_length_per_face_is_refused(reach):
    tree = Tree(*sheet(3))
    with pytest.raises(ArgumentError, match="near_pairs: `reach_b` must be 8 finite lengths of at least 0"):
        near_pairs(tree, tree, 0.1, reach_b=reach)
