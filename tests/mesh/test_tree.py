import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.mesh.nearest import closest
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree
from dressform.mesh.tree_kernels import LEAF_SIZE
from meshes import sheet, soup, sphere, torus

MESHES = {
    "sphere": sphere(3),
    "torus": torus(1.0, 0.3),
    "soup": soup(500, seed=1),
    "one place": (np.tile(np.eye(3), (200, 1)), np.arange(600).reshape(-1, 3)),
    "shrinking": (
        np.eye(3)[np.arange(900) % 3] * 0.5 ** np.repeat(np.arange(300), 3)[:, None],
        np.arange(900).reshape(-1, 3),
    ),
    "single": (np.eye(3), np.array([[0, 1, 2]])),
}


def depth(tree):
    level, deepest = [0], 0
    while level:
        level = [tree.first[n] + child for n in level if tree.count[n] == 0 for child in (0, 1)]
        deepest += 1
    return deepest


@pytest.mark.parametrize("name", MESHES)
def test_every_face_lies_in_one_leaf_and_every_box_holds_what_is_below_it(name):
    vertices, faces = MESHES[name]
    tree = Tree(vertices, faces)
    assert np.array_equal(np.sort(tree.order), np.arange(len(faces)))
    assert np.array_equal(tree.order[tree.slot_of], np.arange(len(faces)))
    assert np.array_equal(tree.slots[:, :9].reshape(-1, 3, 3), vertices[faces[tree.order]])
    leaves = tree.count > 0
    assert tree.count.max() <= LEAF_SIZE
    assert tree.count.sum() == len(faces)
    for node in np.flatnonzero(leaves):
        corners = tree.slots[tree.first[node] : tree.first[node] + tree.count[node], :9].reshape(-1, 3)
        assert np.array_equal(tree.bounds[node], [*corners.min(axis=0), *corners.max(axis=0)])
    children = tree.first[~leaves]
    low = np.minimum(tree.bounds[children, :3], tree.bounds[children + 1, :3])
    high = np.maximum(tree.bounds[children, 3:], tree.bounds[children + 1, 3:])
    assert np.array_equal(tree.bounds[~leaves], np.hstack([low, high]))
    assert depth(tree) < 100  # the stacks of the searches hold 128


def test_refit_answers_as_a_new_tree_does():
    vertices, faces = torus(1.0, 0.3)
    rng = np.random.default_rng(3)
    moved = vertices * (1.3, 0.8, 1.1) + 0.05 * np.sin(7 * vertices[:, ::-1])
    queries, ways = rng.uniform(-1.5, 1.5, (2000, 3)), rng.normal(size=(2000, 3))
    refitted, built = Tree(vertices, faces).refit(moved), Tree(moved, faces)
    assert np.allclose(closest(refitted, queries).distances, closest(built, queries).distances, rtol=0, atol=1e-14)
    ours, theirs = first_hit(refitted, queries, ways), first_hit(built, queries, ways)
    assert np.array_equal(ours.blocked, theirs.blocked)
    assert np.allclose(ours.distances[ours.blocked], theirs.distances[theirs.blocked], rtol=1e-12)


def test_refit_leaves_the_old_tree_as_it_is():
    vertices, faces = sphere(2)
    tree = Tree(vertices, faces)
    before = [array.copy() for array in (tree.vertices, tree.slots, tree.bounds)]
    tree.refit(2 * vertices)
    for array, old in zip((tree.vertices, tree.slots, tree.bounds), before):
        assert np.array_equal(array, old)
    assert closest(tree, np.array([[3.0, 0, 0]])).distances[0] == pytest.approx(2, abs=0.02)


def test_refit_to_the_same_vertices_changes_nothing():
    vertices, faces = soup(300, seed=4)
    tree = Tree(vertices, faces)
    again = tree.refit(vertices)
    assert np.array_equal(again.slots, tree.slots)
    assert np.array_equal(again.bounds, tree.bounds)


def test_pseudonormals_of_a_refitted_tree_follow_the_vertices():
    vertices, faces = sphere(2)
    tree = Tree(vertices, faces)
    assert (np.einsum("vi,vi->v", tree.pseudonormals[0], vertices) > 0).all()
    assert (np.einsum("vi,vi->v", tree.refit(-vertices).pseudonormals[0], vertices) > 0).all()  # a mirror turns them


def test_a_tree_does_not_move_when_the_callers_array_does():
    vertices, faces = sphere(2)
    tree = Tree(vertices, faces)
    copy = vertices.copy()
    moved = tree.refit(vertices)
    vertices *= 5
    assert np.array_equal(tree.vertices, copy)
    assert np.array_equal(moved.vertices, copy)


def test_float32_and_int32_meshes_are_taken():
    vertices, faces = sphere(2)
    small = Tree(vertices.astype(np.float32), faces.astype(np.int32))
    assert closest(small, np.zeros((1, 3))).distances == pytest.approx(
        closest(Tree(vertices, faces), np.zeros((1, 3))).distances
    )


def test_a_mesh_without_faces_is_refused():
    with pytest.raises(ArgumentError, match="Tree: `faces` must be at least one triangle, got none"):
        Tree(np.zeros((3, 3)), np.zeros((0, 3), dtype=np.int64))


def test_an_index_outside_the_vertices_is_refused():
    vertices, faces = sheet(3)
    with pytest.raises(ArgumentError, match=r"Tree: `faces` must be indices of 8 vertices"):
        Tree(vertices[:-1], faces)


def test_refit_with_another_number_of_vertices_is_refused():
    vertices, faces = sheet(3)
    with pytest.raises(ArgumentError, match=r"Tree.refit: `vertices` must be 9 rows.*got 8"):
        Tree(vertices, faces).refit(vertices[:-1])


def test_refit_to_vertices_that_are_not_finite_is_refused():
    vertices, faces = sheet(3)
    tree = Tree(vertices, faces)
    vertices = vertices.copy()
    vertices[2] = np.nan
    with pytest.raises(ArgumentError, match=r"Tree.refit: `vertices` must be finite.*row 2"):
        tree.refit(vertices)
