"""Causes are told beside a verdict and never change it."""

import dressform as df
from dressform.body.body import Body
from dressform.causes.explained_garment import ExplainedGarment
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import graded_values
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_normals
from phantoms import phantom_body, tube


def coarse(_: Body) -> Garment:
    return Garment.of("coarse", *tube(rings=5, clearance=0.01))


def of_another_shape(body: Body) -> Garment:
    shape = body.at(body.weights({"belly": 0.9}))
    return Garment.of("other", shape + 0.015 * vertex_normals(shape, body.faces), body.faces)


def test_a_verdict_is_the_same_with_causes_and_without() -> None:
    body = phantom_body(rings=24, sides=24)
    fit = make_fit(body, coarse(body))
    told, plain = (df.check(fit, shapes=0, causes=causes, others=()) for causes in (True, False))
    found = [[graded_values(row.faults) for row in one.swept.rows] for one in (told, plain)]
    assert found[0] == found[1]
    assert (told.severity, told.faulty) == (plain.severity, plain.faulty)  # the exit code says no more
    assert told.causes is not None
    assert plain.causes is None
    assert [one for each in told.causes.of_garment.values() for one in each if one.cause]


def test_what_was_modelled_on_another_shape_is_measured_as_if_that_were_not_known() -> None:
    body = phantom_body(rings=24, sides=24)
    fit = make_fit(body, of_another_shape(body))
    known = ExplainedGarment(fit)
    assert known.origin is not None
    weights = body.weights({"belly": 1.0})
    assert known.measure(weights).severities == GarmentOnBody(fit).measure(weights).severities
