"""Faults on a real body and a real T-shirt, beside independent answers."""

import igl.predicates
import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment
from dressform.mesh.geometry import face_areas, vertex_normals
from dressform.mesh.inside import winding_numbers
from realdata import real

pytestmark = pytest.mark.data


def read_obj(path):
    rows = [line.split() for line in path.read_text().splitlines()]
    vertices = np.array([row[1:4] for row in rows if row[:1] == ["v"]], dtype=float)
    faces = np.array([[corner.split("/")[0] for corner in row[1:4]] for row in rows if row[:1] == ["f"]], dtype=int) - 1
    return vertices, faces


@pytest.fixture(scope="module")
def body():
    names = ("female", "male", "heavy")
    vertices, faces = read_obj(real("bodies/mean_all.obj"))
    deltas = [read_obj(real(f"bodies/mean_{name}.obj"))[0] - vertices for name in names[:2]]
    trunk = np.exp(-(((vertices[:, 1] - 1.05) / 0.25) ** 2) - (vertices[:, 0] / 0.18) ** 2)
    deltas.append(0.25 * trunk[:, None] * vertices * np.array([1.0, 0.0, 1.0]))
    return Body("mean", vertices, faces, names, np.stack(deltas), Range.unit(names))


@pytest.fixture(scope="module")
def shirt():
    vertices, faces = read_obj(real("garments/tshirt.obj"))
    middle = vertices.mean(axis=0)
    return Garment.of("T-shirt", (vertices - middle) * 1.26 + middle + np.array([0.0, -0.072, 0.036]), faces)


@pytest.fixture(scope="module")
def checks(body, shirt):
    return {
        method: GarmentOnBody(make_fit(body, shirt, Following(method=method)))
        for method in ("nearest", "surface", "smooth")
    }


@pytest.fixture(scope="module")
def still(body, shirt):
    """A shirt that stays behind while its wearer gains weight."""
    return GarmentOnBody(Fit(body, shirt, DEFAULT_FOLLOWING, shirt.vertices, np.zeros((3, *shirt.vertices.shape))))


def test_a_real_shirt_has_its_own_faults_and_no_others_at_the_base(checks):
    found = checks["smooth"].measure(np.zeros(3))
    wrong = {fault for fault, severity in found.severities.items() if severity != "clean"}
    assert wrong == {"in_front", "sunk"}  # the breast comes through in two places, as a picture shows
    assert 5e-4 < found.at_base.skin_area < 20e-4
    assert found.show_through.own_inside_share == pytest.approx(0.0015, abs=0.0002)


def test_own_share_agrees_with_the_winding_number_at_samples(checks, body, shirt):
    found = checks["smooth"].measure(np.zeros(3)).show_through
    assert found.own_inside_share == pytest.approx(sampled_share(body.vertices, body.faces, shirt), rel=0.15)


def sampled_share(vertices, faces, shirt, cloth=None):
    """Share of the cloth inside by the exact winding number at random points of the shirt near the skin."""
    rng = np.random.default_rng(9)
    cloth = shirt.vertices if cloth is None else cloth
    areas = face_areas(cloth, shirt.faces)
    chosen = rng.choice(len(areas), 200_000, p=areas / areas.sum())
    points = np.einsum("nc,ncx->nx", rng.dirichlet(np.ones(3), len(chosen)), cloth[shirt.faces[chosen]])
    return float((winding_numbers(vertices, faces, points) > 0.5).mean())


def test_share_inside_agrees_with_the_winding_number_at_samples(still, body, shirt):
    weights = np.array([0.0, 0.0, 1.0])
    found = still.measure(weights).show_through
    inside = sampled_share(body.at(weights), body.faces, shirt)
    assert inside > 0.01
    assert found.inside_share + found.own_inside_share == pytest.approx(inside, rel=0.04)
    assert found.exposed_area > 0.9 * found.inside_share * face_areas(shirt.vertices, shirt.faces).sum()


@pytest.mark.parametrize(("outward", "touches"), [(0.005, True), (0.01, False), (0.03, False)])
def test_cloth_free_of_the_body_by_exact_predicates_shows_nothing(body, shirt, outward, touches):
    """A shirt that moves along its normals while its wearer gains weight: far enough, and nothing touches any more."""
    weights = np.array([0.0, 0.0, 0.3])
    moves = outward / 0.3 * vertex_normals(shirt.vertices, shirt.faces)
    fit = Fit(body, shirt, DEFAULT_FOLLOWING, shirt.vertices, np.stack([0.0 * moves, 0.0 * moves, moves]))
    pairs = igl.predicates.find_intersections(fit.at(weights), shirt.faces, body.at(weights), body.faces)[1]
    found = GarmentOnBody(fit).measure(weights).show_through
    figures = np.array([found.exposed_area, found.exposed_share, found.inside_share, found.depth_p95, found.depth_max])
    assert (len(pairs) > 0) == touches
    assert (figures > 0).all() if touches else (figures == 0).all()


@pytest.mark.parametrize("shape", [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)])
def test_one_nearest_vertex_tears_and_the_smooth_lift_does_not(checks, shape):
    found = {method: check.measure(np.array(shape)).pucker for method, check in checks.items()}
    assert found["nearest"].p50 > 15 * found["smooth"].p50
    assert found["surface"].p95 > 5 * found["smooth"].p95
    assert found["smooth"].p95 < 0.003


def test_fields_of_a_real_shape_are_finite_and_agree(still, body):
    weights = np.array([0.0, 0.0, 1.0])
    found, fields = still.measure(weights), still.fields(weights)
    for name in ("exposed", "depth", "pucker", "stretch", "clearance_change"):
        assert np.isfinite(fields.layers[name]).all()
    assert fields.layers["depth"].max() == pytest.approx(found.show_through.depth_max)
    assert (fields.layers["clearance_change"] < -0.01).any()
