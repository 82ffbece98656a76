"""The clearance told with triangles that are too long is that of the nearest corner of one of them."""

import numpy as np
import pytest

import phantoms
from dressform.body.shapes import Shape, label_of, shape_at_base
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.results import TOO_FEW_VERTICES
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from dressform.sweep.run import run_sweep


def test_the_clearance_is_one_that_a_triangle_has_at_its_nearest_corner() -> None:
    body = phantoms.phantom_body(sides=96)
    fit = make_fit(body, phantoms.phantom_tube(clearance=0.012, sides=9), Following(margin_mm=2.0))
    weights = body.weights({"belly": 1.0})
    shapes = [shape_at_base(body.range), Shape(label_of(body.range, weights), weights)]
    rows = run_sweep({"tube": fit}, {"tube": shapes}).rows
    found = [
        each for each in explain_garment(ExplainedGarment(fit), rows, key="tube") if each.cause == TOO_FEW_VERTICES
    ]
    assert found
    for each in found:
        skin = Tree(body.at(each.cluster.worst.weights), body.faces)
        clearance, _ = signed_clearance(skin, fit.at(each.cluster.worst.weights))
        nearest = clearance[fit.garment.faces].min(axis=1)
        assert np.abs(nearest - each.evidence["clearance"]).min() == pytest.approx(0.0, abs=1e-9)
