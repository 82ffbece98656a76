"""What the demo's figures rest on, asked again of libigl, trimesh and SciPy."""

from functools import cache

import igl
import igl.predicates
import numpy as np
import pytest
import trimesh
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import ConvexHull

from dressform.body.body import Body
from dressform.body.measure import Measurer
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.mesh.inside import winding_numbers
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree

CASES = {"guernsey": {"girth": 0.7}, "guernsey_coarse": {"belly": 1.0}, "guernsey_tight": {"girth": 1.0}}
SAMPLES = 20_000


@cache
def woman() -> Body:
    return make_demo_bodies()["woman"]


@cache
def fit_of(name: str) -> Fit:
    return make_fit(woman(), make_wardrobe(make_demo_bodies(), names=(name,))[name].garment)


@cache
def moved(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Body and cloth at the shape of a case."""
    weights = woman().weights(CASES[name])
    return woman().at(weights), fit_of(name).at(weights)


@cache
def measured(name: str) -> ShapeFaults:
    return GarmentOnBody(fit_of(name)).measure(woman().weights(CASES[name]))


def samples(name: str) -> np.ndarray:
    """Points all over the cloth, even by area, by trimesh."""
    return np.asarray(trimesh.sample.sample_surface(cloth_mesh(name), SAMPLES, seed=4)[0])


def cloth_mesh(name: str) -> trimesh.Trimesh:
    return trimesh.Trimesh(moved(name)[1], fit_of(name).garment.faces, process=False)


@pytest.mark.parametrize("name", CASES)
def test_clearance_is_the_signed_distance_of_libigl(name: str) -> None:
    body, cloth = moved(name)
    ours = signed_clearance(Tree(body, woman().faces), cloth)[0]
    kind = igl.SignedDistanceType.SIGNED_DISTANCE_TYPE_PSEUDONORMAL
    theirs = igl.signed_distance(cloth, body, woman().faces, kind)[0]
    np.testing.assert_allclose(ours, theirs, atol=1e-9)


@pytest.mark.parametrize("name", CASES)
def test_inside_is_what_the_exact_winding_number_of_libigl_says(name: str) -> None:
    body, cloth = moved(name)
    assert trimesh.Trimesh(body, woman().faces, process=False).is_watertight
    ours = winding_numbers(body, woman().faces, cloth[::10])
    np.testing.assert_allclose(ours, igl.winding_number(body, woman().faces, cloth[::10]), atol=0.01)


@pytest.mark.parametrize("name", CASES)
def test_cloth_and_skin_cross_where_exact_predicates_of_libigl_say(name: str) -> None:
    body, cloth = moved(name)
    faces = fit_of(name).garment.faces
    ours = crossing_pairs(Tree(cloth, faces), Tree(body, woman().faces))
    theirs = igl.predicates.find_intersections(cloth, faces, body, woman().faces)[1]
    assert sorted(map(tuple, ours.tolist())) == sorted(map(tuple, theirs.tolist()))
    assert (len(ours) > 0) == (name != "guernsey")
    if name == "guernsey":
        assert measured(name).show_through.exposed_area == measured(name).show_through.inside_share == 0.0


@pytest.mark.parametrize("name", ["guernsey_coarse", "guernsey_tight"])
def test_share_inside_is_that_of_random_points_by_the_winding_number(name: str) -> None:
    """Both what lay inside at the base and what has come since: its own share is left out of the figure."""
    through = measured(name).show_through
    inside = igl.fast_winding_number(moved(name)[0], woman().faces, samples(name)) > 0.5
    spread = 4 * np.sqrt(inside.mean() * (1 - inside.mean()) / SAMPLES)
    assert through.inside_share <= inside.mean() + spread
    assert inside.mean() <= through.inside_share + through.own_inside_share + spread + 2e-3


@pytest.mark.parametrize("name", ["guernsey_coarse", "guernsey_tight"])
def test_depth_is_at_least_that_of_any_random_point_that_has_come_inside(name: str) -> None:
    points = samples(name)
    distance = igl.signed_distance(points, moved(name)[0], woman().faces)[0]
    assert -distance.min() == pytest.approx(measured(name).show_through.depth_max, abs=1.5e-3)


@pytest.mark.parametrize(("name", "weights"), [("woman", {}), ("woman", {"belly": 1.0}), ("man", {"girth": 0.8})])
@pytest.mark.parametrize("measure", ["chest", "waist", "hip"])
def test_girths_of_the_trunk_are_hulls_of_sections_by_trimesh_and_scipy(
    name: str, weights: dict[str, float], measure: str
) -> None:
    """The section by trimesh, the loop around the trunk told by being nearest to the axis, its hull by Qhull."""
    body = make_demo_bodies()[name]
    taken = Measurer(body).measure(body.weights(weights)).named(measure)
    mesh = trimesh.Trimesh(body.at(body.weights(weights)), body.faces, process=False)
    low = mesh.vertices[:, 1].min()
    cut = trimesh.intersections.mesh_plane(mesh, [0, 1, 0], [0, low + taken.height, 0])[:, :, [0, 2]]
    ends, number = np.unique(np.round(cut.reshape(-1, 2), 9), axis=0, return_inverse=True)
    pairs = number.reshape(-1, 2)
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(ends), len(ends)))
    loops = connected_components(links, directed=False)[1]
    trunk = min((ends[loops == loop] for loop in np.unique(loops)), key=lambda loop: abs(loop[:, 0].mean()))
    assert ConvexHull(trunk).area == pytest.approx(taken.value, rel=2e-4)
