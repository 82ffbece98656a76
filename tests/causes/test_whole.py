"""A trial put back into its garment is the garment, changed where the trial changed its patch and nowhere else."""

from functools import cache

import numpy as np

from dressform.body.body import Body
from dressform.body.shapes import Shape
from dressform.causes.clusters import find_clusters
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.patch import Patch, cut_patch
from dressform.causes.results import TOO_FEW_VERTICES
from dressform.causes.trial import make_trial
from dressform.causes.whole import carried, whole_fields, whole_fit
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import DEFAULT_BANDS
from dressform.fit.make import make_fit
from dressform.mesh.geometry import face_areas
from dressform.mesh.topology import edges
from dressform.sweep.run import run_sweep
from phantoms import phantom_body, phantom_tube


@cache
def scene() -> tuple[Body, Patch]:
    """A tube of rings 17 cm apart, through which a belly comes."""
    body = phantom_body()
    fit = make_fit(body, phantom_tube(rings=5, clearance=0.01))
    shape = Shape("belly=1", body.weights({"belly": 1.0}))
    rows = run_sweep({"tube": fit}, {"tube": [shape]}).of("tube")
    context = ExplainedBody(body)
    worn = ExplainedGarment(fit, context=context)
    clusters = find_clusters(worn, "tube", rows, bands=DEFAULT_BANDS)
    assert clusters[0].fault == "exposed"
    return body, cut_patch(worn, context.narrowed(shape.weights), clusters[0])


def test_a_trial_without_a_swap_is_the_garment_itself() -> None:
    _, patch = scene()
    fit, whole = patch.worn.fit, whole_fit(make_trial(patch, ()))
    assert np.array_equal(whole.garment.vertices, fit.garment.vertices)
    assert {tuple(face) for face in whole.garment.faces} == {tuple(face) for face in fit.garment.faces}
    assert np.allclose(whole.at(patch.weights), fit.at(patch.cluster.worst.weights), atol=1e-15)


def test_a_swap_adds_vertices_behind_and_leaves_the_rest_alone() -> None:
    _, patch = scene()
    trial = make_trial(patch, (TOO_FEW_VERTICES,))
    fit, whole = patch.worn.fit, whole_fit(trial)
    old = len(fit.base)
    assert len(whole.base) == old + len(trial.fit.base) - len(patch.vertices) > old
    far = np.setdiff1d(np.arange(old), patch.vertices)
    assert np.array_equal(whole.at(patch.weights)[far], fit.at(patch.cluster.worst.weights)[far])
    area = [face_areas(one.vertices, one.faces).sum() for one in (whole.garment, fit.garment)]
    assert abs(area[0] / area[1] - 1.0) < 0.02
    used = np.unique(edges(whole.garment.faces))
    assert np.array_equal(used, np.arange(len(whole.base)))


def test_fields_are_carried_to_new_vertices_between_the_old() -> None:
    _, patch = scene()
    trial = make_trial(patch, (TOO_FEW_VERTICES,))
    heights = carried(trial, patch.worn.fit.garment.vertices[:, 1])
    assert np.allclose(heights, whole_fit(trial).garment.vertices[:, 1], atol=2e-3)  # new vertices lie on a curve


def test_the_fields_are_those_of_a_check() -> None:
    _, patch = scene()
    trial = make_trial(patch, ())
    fields = whole_fields(trial, whole_fit(trial))
    checked = GarmentOnBody(patch.worn.fit).fields(patch.cluster.worst.weights)
    assert np.allclose(fields.layers["exposed"], checked.layers["exposed"], atol=1e-9)
    assert np.array_equal(fields.hidden, checked.hidden)
    assert np.allclose(fields.layers["clearance_change"], checked.layers["clearance_change"], atol=1e-9)
    assert not fields.layers["pucker"].any()  # not asked for at this fault


def test_after_the_swap_no_skin_shows() -> None:
    _, patch = scene()
    before, after = (make_trial(patch, causes) for causes in ((), (TOO_FEW_VERTICES,)))
    assert whole_fields(before, whole_fit(before)).layers["exposed"].max() > 0.9
    assert whole_fields(after, whole_fit(after)).layers["exposed"].max() < 0.1
