"""Inside and outside of bodies that are not tidy."""

import numpy as np
import pytest

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.skin.cloth_sides import clearance, cloth_sides, trust_skin
from dressform.faults.skin.hidden_skin import thickness
from dressform.mesh.inside import winding_numbers
from dressform.mesh.tree import Tree
from fault_meshes import icosphere, make_body, make_fit, sheet

RADIUS = 0.2


def joined(*meshes):
    counts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    return np.concatenate([v for v, _ in meshes]), np.concatenate([f + n for (_, f), n in zip(meshes, counts)])


def holed(vertices, faces):
    """The sphere without a cap of 4 cm behind."""
    kept = vertices[faces, 2].mean(axis=1) > -RADIUS + 0.005
    return vertices, faces[kept]


CLEAN = icosphere(RADIUS, level=4)
EYE = icosphere(0.05, level=3, middle=(0.0, 0.1, 0.0))
UNTIDY = {
    "a shell inside": joined(CLEAN, EYE),
    "two parts that overlap": joined(CLEAN, icosphere(RADIUS, level=4, middle=(0.0, -0.25, 0.0))),
    "a hole": holed(*CLEAN),
}


HOLLOW = joined(CLEAN, (EYE[0], EYE[1][:, ::-1]))


@pytest.mark.parametrize("mesh", [CLEAN, HOLLOW], ids=["whole", "hollow"])
def test_all_of_a_sound_body_is_trusted(mesh):
    assert trust_skin(Tree(*mesh)).all()


def test_a_body_turned_inside_out_is_not_trusted():
    vertices, faces = CLEAN
    assert not trust_skin(Tree(vertices, faces[:, ::-1])).any()


@pytest.mark.parametrize("name", UNTIDY)
def test_what_no_normal_can_tell_is_not_trusted_and_most_is(name):
    vertices, faces = UNTIDY[name]
    trusted = trust_skin(Tree(vertices, faces))
    assert 0.3 < trusted.mean() < 1.0
    middles = vertices[faces].mean(axis=1)
    sides = vertices[faces[:, 1:]] - vertices[faces[:, :1]]
    step = 1e-4 * np.cross(sides[:, 0], sides[:, 1])
    step *= 1e-4 / np.linalg.norm(step, axis=1, keepdims=True)
    told = (winding_numbers(vertices, faces, middles - step) > 0.5) & (
        winding_numbers(vertices, faces, middles + step) < 0.5
    )
    assert told[trusted].all()


@pytest.mark.parametrize("name", ["a shell inside", "two parts that overlap", "a hole"])
def test_clearance_has_the_sign_of_the_winding_number(name):
    rng = np.random.default_rng(8)
    vertices, faces = UNTIDY[name]
    points = rng.uniform(vertices.min(axis=0) - 0.02, vertices.max(axis=0) + 0.02, (3000, 3))
    tree = Tree(vertices, faces)
    signed, found = clearance(tree, trust_skin(tree), points, np.full(3000, -1))
    exact = winding_numbers(vertices, faces, points, exact=True)
    clear = np.abs(exact - 0.5) > 0.05  # at a hole the number passes through a half
    assert ((signed < 0) == (exact > 0.5))[clear].all()
    np.testing.assert_allclose(np.abs(signed), found.distances)


@pytest.mark.parametrize("name", UNTIDY)
def test_vertices_of_cloth_get_the_side_of_the_winding_number(name):
    vertices, faces = UNTIDY[name]
    body = Tree(vertices, faces)
    cloth = Tree(*sheet(0.6, count=40, height=0.13))
    found = cloth_sides(cloth, body, trust_skin(body), start=np.full(len(cloth.vertices), -1))
    exact = winding_numbers(vertices, faces, cloth.vertices, exact=True)
    assert ((found.signed < 0) == (exact > 0.5)).all()
    assert found.crossed.sum() > 20


@pytest.mark.parametrize(
    ("mesh", "expected"), [(CLEAN, 2 * RADIUS), (UNTIDY["a shell inside"], 2 * RADIUS), (HOLLOW, RADIUS - 0.15)]
)
def test_a_body_is_as_thick_as_the_line_to_its_far_side(mesh, expected):
    """From the top of the sphere straight down: a shell inside is passed, a hollow ends the body."""
    top = np.array([[0.001, np.sqrt(RADIUS**2 - 2e-6), 0.001]])
    assert thickness(Tree(*mesh), top, np.array([[0.0, -1.0, 0.0]]))[0] == pytest.approx(expected, rel=0.01)


def test_a_line_that_leaves_through_a_hole_finds_no_far_side():
    front = np.array([[0.0, 0.0, RADIUS]])
    assert np.isinf(thickness(Tree(*UNTIDY["a hole"]), front, np.array([[0.0, 0.0, -1.0]]))[0])


def test_a_shell_inside_a_body_hides_no_fault():
    cloth, cloth_faces = sheet(0.8, count=30, height=RADIUS + 0.004)
    results = []
    for vertices, faces in (CLEAN, UNTIDY["a shell inside"]):
        body = make_body(vertices, faces, rise=np.array([0.0, 0.05, 0.0]))
        fit = make_fit(cloth, cloth_faces, body)
        results.append(GarmentOnBody(fit).measure(np.ones(1)).show_through)
    clean, untidy = results
    assert untidy.inside_share == pytest.approx(clean.inside_share, rel=1e-9)
    assert untidy.exposed_area == pytest.approx(clean.exposed_area, rel=1e-9)
    assert 0.02 < untidy.depth_max <= clean.depth_max  # depth is told to the nearest surface, the shell's included
