"""Each swap takes its own cause out of bodies and tubes of closed form, and leaves the others' alone."""

from dataclasses import replace

import numpy as np
import pytest

import lift_phantoms
import phantoms
from dressform.body.body import Body
from dressform.body.shapes import Shape, label_of, shape_at_base
from dressform.causes.explain import explain_garment
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.extremities import OWN_MOTION
from dressform.causes.patch import Patch, cut_patch
from dressform.causes.results import (
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    FOLLOWING,
    METHOD,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Explanation,
)
from dressform.causes.swaps import too_few_vertices, too_tight
from dressform.causes.trial import make_trial
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from dressform.sweep.run import run_sweep


def told(body: Body, fit: Fit, *named: dict[str, float]) -> tuple[Explanation, ...]:
    weights = [body.weights(each) for each in named]
    shapes = [shape_at_base(body.range), *(Shape(label_of(body.range, each), each) for each in weights)]
    rows = run_sweep({"tube": fit}, {"tube": shapes}).rows
    return explain_garment(ExplainedGarment(fit), rows, key="tube")


def case_of(body: Body, fit: Fit, explanation: Explanation) -> Patch:
    context = ExplainedBody(body)
    worn = ExplainedGarment(fit, context=context)
    return cut_patch(worn, context.narrowed(explanation.cluster.worst.weights), explanation.cluster)


def joined(first: Garment, vertices: np.ndarray, faces: np.ndarray, part: str) -> Garment:
    count = len(first.vertices)
    return replace(
        first,
        vertices=np.concatenate([first.vertices, vertices]),
        faces=np.concatenate([first.faces, faces + count]),
        part_names=(*first.part_names, part),
        face_parts=np.concatenate([first.face_parts, np.full(len(faces), len(first.part_names))]),
        strength=np.ones(count + len(vertices)),
    )


def test_long_edges_over_a_belly_are_too_few_vertices() -> None:
    body, garment = phantoms.phantom_body(), phantoms.phantom_tube(clearance=0.012, sides=9)
    found = told(body, make_fit(body, garment), {"belly": 1.0})
    front = [each for each in found if each.cluster.worst.place.side.startswith("front")]
    assert {each.cause for each in front if each.cluster.fault in ("exposed", "depth")} == {TOO_FEW_VERTICES}
    assert front[0].shares[0].share == pytest.approx(1.0)
    assert front[0].evidence["edge_length"] > 2 * phantoms.RADIUS * np.sin(np.pi / 9)


def test_splitting_does_not_help_cloth_that_has_no_room() -> None:
    body = phantoms.phantom_body()
    fit = make_fit(body, phantoms.phantom_tube(clearance=-0.004))
    found = told(body, fit, {"girth": 0.5})
    assert {each.cause for each in found} == {TOO_TIGHT}
    patch = case_of(body, fit, found[0])
    assert make_trial(patch, {TOO_FEW_VERTICES}).value == pytest.approx(make_trial(patch, ()).value, rel=0.1)


def test_letting_out_ends_at_the_margin() -> None:
    body = phantoms.phantom_body(sides=96)
    fit = make_fit(body, phantoms.phantom_tube(clearance=-0.004, sides=96))
    patch = case_of(body, fit, told(body, fit)[0])
    moved = patch.fit.garment.vertices + too_tight.moves(patch, patch.fit.garment.vertices)
    clearance, _ = signed_clearance(Tree(body.vertices, body.faces), moved)
    np.testing.assert_allclose(clearance, patch.worn.margin, atol=2e-5)
    roomy = make_fit(body, phantoms.phantom_tube(clearance=0.010, sides=96))
    other = replace(patch, worn=ExplainedGarment(roomy, context=patch.worn.context))
    assert not too_tight.moves(other, patch.fit.garment.vertices * np.array([1.2, 1.0, 1.2])).any()


def test_a_patch_that_moves_like_a_plate_is_the_bodys() -> None:
    body = phantoms.phantom_body(rings=88, sides=96)
    rigid_patch = (
        (np.abs(body.vertices[:, 1] - 1.0) < 0.08) & (np.abs(body.vertices[:, 0]) < 0.06) & (body.vertices[:, 2] > 0)
    )
    delta = np.where(rigid_patch, 0.015, 0.0)[:, None] * np.array([0.0, 0.0, 1.0])
    faulty = replace(body, deltas=np.stack([delta, *body.deltas[1:]]))
    fit = make_fit(faulty, phantoms.phantom_tube(clearance=0.02, rings=60, sides=80), Following(method="surface"))
    found = told(faulty, fit, {"belly": 1.0})
    assert found[0].cluster.fault == "pucker"
    assert found[0].cause == RIGID_PATCH
    assert found[0].evidence["rim_step/belly"] == pytest.approx(0.015, rel=0.05)


def test_a_button_that_bends_should_not_follow() -> None:
    body = phantoms.phantom_body(rings=88, sides=96)
    ball, faces = lift_phantoms.sphere(0.02, rows=8, columns=10)
    ball = ball * np.array([1.0, 1.0, 0.3]) + np.array([0.0, 1.10, phantoms.RADIUS + 0.028])
    garment = joined(phantoms.phantom_tube(clearance=0.02, rings=60, sides=80), ball, faces, "button")
    found = told(body, make_fit(body, garment, Following(method="nearest")), {"belly": 1.0})
    hard = [each for each in found if each.cluster.fault == "hard"]
    assert hard
    assert hard[0].cause == SHOULD_NOT_FOLLOW
    assert hard[0].shares[0].share == pytest.approx(1.0, abs=1e-6)


def test_a_tube_made_for_a_wider_body_was_modelled_on_it() -> None:
    body = phantoms.phantom_body()
    fit = make_fit(body, phantoms.phantom_tube(clearance=0.012))
    wide = replace(fit.garment, vertices=fit.at(body.weights({"belly": 1.0})))
    found = told(body, make_fit(body, wide))
    assert found
    assert found[0].cause == ANOTHER_SHAPE
    assert found[0].cluster.fault == "clearance"
    assert found[0].cluster.worst.place.side.startswith("front")
    assert found[0].evidence["weight/belly"] == pytest.approx(1.0, abs=0.2)


def test_what_a_curling_finger_does_to_its_stall_lies_beyond_an_extremity_and_is_no_noise() -> None:
    """Before, the stretch at the hinge was told as a rough morph: skin that bends within a few edges is not even."""
    body, garment = lift_phantoms.finger(), lift_phantoms.stall()
    found = told(body, make_fit(body, garment), {"curl": 1.0})
    seen = {each.cluster.fault: each for each in found if each.cluster.fault in ("pucker", "stretch")}
    assert len(seen) == 2
    assert {each.cause for each in seen.values()} == {BEYOND_EXTREMITY}
    assert all(ROUGH_MORPH not in [share.cause for share in each.shares] for each in found)


def test_noise_is_no_finger_that_moves_by_itself() -> None:
    body = lift_phantoms.finger()
    noise = 0.0015 * np.random.default_rng(1).normal(size=body.vertices.shape)
    rough = ExplainedBody(replace(body, deltas=noise[None])).narrowed(np.ones(1))
    assert rough.own_motion.max() < 0.5 * OWN_MOTION
    assert ExplainedBody(body).narrowed(np.ones(1)).own_motion.max() > OWN_MOTION


def test_what_the_nearest_vertex_puckers_is_the_methods() -> None:
    body = phantoms.phantom_body()
    fit = make_fit(body, phantoms.phantom_tube(clearance=0.03, rings=60, sides=100), Following(method="nearest"))
    puckered = [each for each in told(body, fit, {"belly": 1.0}) if each.cluster.fault == "pucker"]
    assert puckered
    for each in puckered:
        assert (each.cause, each.owner) == (METHOD, FOLLOWING)
        assert each.shares[0].share > 0.5


def test_what_no_swap_removes_has_no_cause() -> None:
    body = phantoms.phantom_body()
    fit = make_fit(body, phantoms.phantom_tube(clearance=0.03, rings=60, sides=100))
    noise = np.random.default_rng(3).normal(scale=0.002, size=fit.deltas.shape)  # no ingredient's doing
    found = told(body, replace(fit, deltas=fit.deltas + noise), {"belly": 1.0})
    assert "pucker" in {each.cluster.fault for each in found}
    for each in found:
        assert each.cause == ""
        assert each.owner == ""
        assert each.advice is None


def test_a_patch_with_nothing_swapped_is_the_garment_itself() -> None:
    body, garment = phantoms.phantom_body(), phantoms.phantom_tube(clearance=0.012, sides=9)
    fit = make_fit(body, garment)
    for explanation in told(body, fit, {"belly": 1.0}):
        patch = case_of(body, fit, explanation)
        trial = make_trial(patch, ())
        np.testing.assert_array_equal(
            trial.fit.at(patch.weights), fit.at(explanation.cluster.worst.weights)[patch.vertices]
        )
        again = make_trial(patch, {RIGID_PATCH})
        np.testing.assert_allclose(again.fit.deltas, trial.fit.deltas, atol=1e-12)


def test_a_repair_that_was_made_is_kept_in_every_trial() -> None:
    body, garment = phantoms.phantom_body(), phantoms.phantom_tube(clearance=0.012, sides=9)
    plain = make_fit(body, garment)
    repaired = replace(plain, base=plain.base + 0.001, deltas=plain.deltas + 0.002)
    explanation = told(body, plain, {"belly": 1.0})[0]
    patch, kept = case_of(body, plain, explanation), case_of(body, repaired, explanation)
    for causes in ((), {RIGID_PATCH}, {BEYOND_EXTREMITY, RIGID_PATCH}):
        before, after = make_trial(patch, causes).fit, make_trial(kept, causes).fit
        np.testing.assert_allclose(after.at(np.ones(1)) - before.at(np.ones(1)), 0.003, atol=1e-9)


def test_triangles_are_split_only_where_the_body_bends_through_them() -> None:
    body, garment = phantoms.phantom_body(), phantoms.phantom_tube(clearance=0.012, sides=12)
    fit = make_fit(body, garment)
    patch = case_of(body, fit, told(body, fit, {"belly": 1.0})[0])
    split = too_few_vertices.split(patch, patch.fit.garment)
    pieces = np.bincount(split.parents, minlength=len(patch.fit.garment.faces))
    assert (pieces[patch.resolution.index > 1.0] > 1).all()
    fine = patch.resolution.index <= 1.0
    assert fine.any()
    assert pieces[fine].mean() < 0.5 * pieces[~fine].mean()
