"""Layers stay over one another: each is kept clear of the body and of the cloth under it, and that is proven."""

from dataclasses import replace

import numpy as np
import pytest

from bare import bare_body
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import MatchError
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.tree import Tree
from dressform.proof.certificate import certify, crossing_sheets, touching_faces
from dressform.proof.linear_mesh import joined, linear_body, linear_cloth, linear_mesh
from dressform.repair.layers import SKIN, repair_outfit
from phantoms import RADIUS, capsule, tube
from proof.spheres import ball

MARGIN = 0.002
FOLLOWING = Following(margin_mm=MARGIN * 1e3)
GROWTH = 0.02


def _body() -> Body:
    """The capsule, which grows by 2 cm around its axis."""
    vertices, faces = capsule(rings=24, sides=32)
    outward = vertices * np.array([1.0, 0.0, 1.0]) / RADIUS
    return Body("phantom", vertices, faces, ("grow",), GROWTH * outward[None], Range.unit(("grow",)))


def _tube_fit(clearance: float, *, follows: float, turned: bool = False, bottom: float = 0.6, top: float = 1.1) -> Fit:
    sides = 26 if bottom > 0.6 else 30  # two layers that pass each other then cross; equal ones would swap unnoticed
    vertices, faces = tube(clearance=clearance, rings=9, sides=sides, bottom=bottom, top=top)
    outward = vertices * np.array([1.0, 0.0, 1.0]) / (RADIUS + clearance)
    garment = Garment.of("tube", vertices, faces[:, ::-1].copy() if turned else faces)
    return Fit(_body(), garment, FOLLOWING, vertices, follows * GROWTH * outward[None])


def _crossings(outer: Fit, inner: Fit, weight: float) -> int:
    weights = np.array([weight])
    trees = [Tree(fit.at(weights), fit.garment.faces) for fit in (outer, inner)]
    return len(crossing_pairs(*trees))


@pytest.mark.parametrize("turned", [False, True])
def test_an_outer_layer_that_does_not_follow_is_kept_off_the_inner_one(turned: bool) -> None:
    """The skirt follows, the coat over it stays behind and would be passed by it; which way it faces is no matter."""
    inner, outer = _tube_fit(0.006, follows=1.0, turned=turned), _tube_fit(0.015, follows=0.0, bottom=0.7, top=1.0)
    assert max(_crossings(outer, inner, weight) for weight in np.linspace(0.3, 0.7, 9)) > 0
    under, over = repair_outfit([inner, outer])
    assert under.fit is inner
    assert len(over.clearance.conflicts) == 0
    for weight in np.linspace(0.0, 1.0, 6):
        assert _crossings(over.fit, under.fit, weight) == 0
        radii = [np.hypot(*fit.at(np.array([weight]))[:, [0, 2]].T) for fit in (over.fit, under.fit)]
        assert radii[0].min() > radii[1].max() - 0.0015  # chords of polygons of 26 and 30 sides
    assert over.cost.largest_move > 0


def test_pairs_of_layers_are_certified_and_counted_apart() -> None:
    inner, outer = _tube_fit(0.006, follows=1.0), _tube_fit(0.015, follows=0.0, bottom=0.7, top=1.0)
    under, over = repair_outfit([inner, outer], proven_margin=0.5 * MARGIN)
    assert (under.number, over.number) == (1, 2)
    assert set(under.pair_layers.tolist()) == {SKIN}
    assert 1 in over.pair_layers
    assert over.share(1) == over.share(SKIN) == over.certificate.share == 1.0
    assert over.crossing == {}


def test_an_open_layer_has_no_inside() -> None:
    """Cloth far beyond the hem of an inner tube lies on no side of it, and a turned tube excludes nothing."""
    body, outer = linear_body(_body()), linear_cloth(_tube_fit(0.02, follows=1.0))
    for turned in (False, True):
        sheet = linear_cloth(_tube_fit(0.01, follows=1.0, turned=turned, bottom=0.75, top=0.9))
        under = joined(body, sheet)
        assert not touching_faces(outer, under).any()
        assert certify(outer, under, Range.unit(("grow",))).share == 1.0


def test_an_outer_layer_makes_room_for_an_inner_one_whose_base_had_to_move() -> None:
    """The skin grows through both layers and neither follows: the inner base moves out past where the outer one was."""
    inner, outer = _tube_fit(0.006, follows=0.0), _tube_fit(0.009, follows=0.0, bottom=0.7, top=1.0)
    under, over = repair_outfit([inner, outer])
    moved = [np.hypot(*fit.base[:, [0, 2]].T) for fit in (under.fit, outer)]
    assert moved[0].max() > moved[1].min()
    assert len(under.clearance.conflicts) == len(over.clearance.conflicts) == 0
    assert over.crossing == {}
    assert over.share(1) == over.share(SKIN) == 1.0
    for weight in np.linspace(0.0, 1.0, 6):
        assert _crossings(over.fit, under.fit, weight) == 0


def test_joined_meshes_move_as_they_did() -> None:
    body, sheet = linear_body(_body()), linear_cloth(_tube_fit(0.01, follows=0.3))
    both = joined(body, sheet)
    weights = np.array([0.7])
    assert np.array_equal(both.at(weights), np.concatenate([body.at(weights), sheet.at(weights)]))
    assert both.sheets is not None
    assert np.array_equal(both.solid_faces, body.faces)
    corners = both.at(weights)[both.faces[both.sheets]]
    assert np.array_equal(corners, sheet.at(weights)[sheet.faces])


def test_layers_that_cross_at_the_base_lose_those_pairs_only() -> None:
    """A wide ring that cuts through the inner tube: its crossing pairs are left out, the body's are still proven."""
    inner = _tube_fit(0.02, follows=1.0)
    vertices, faces = tube(clearance=0.02, rings=9, sides=28, bottom=0.7, top=1.0)
    squeezed = vertices * np.array([1.05, 1.0, 0.95])
    grow = GROWTH * (vertices * np.array([1.0, 0.0, 1.0]) / (RADIUS + 0.02))[None]
    outer = Fit(_body(), Garment.of("ring", squeezed, faces), FOLLOWING, squeezed, grow)
    under = joined(linear_body(_body()), linear_cloth(inner))
    crossing = crossing_sheets(linear_cloth(outer), under)
    assert len(crossing) == len(crossing_pairs(linear_cloth(outer).tree, linear_cloth(inner).tree)) > 0
    over = repair_outfit([inner, outer])[1]
    assert over.crossing.keys() == {1}
    assert not over.certificate.excluded.any()
    assert over.share(SKIN) == 1.0
    assert not (over.certificate.pairs[:, None] == over.certificate.crossing[None]).all(axis=2).any()


def test_layers_made_to_cross_somewhere_in_the_range_are_never_certified() -> None:
    """A shell whose morph pulls it through an open cap: the pairs that cross there stay open."""
    vertices, faces = ball(2)
    cap = faces[(vertices[faces][:, :, 1] > 0.2).all(axis=1)]
    still = np.zeros((1, len(vertices), 3))
    under = joined(linear_mesh(0.05 * vertices, still, faces), linear_mesh(0.1 * vertices, still, cap))
    turn = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))[0]
    turned = vertices @ (turn * np.sign(np.linalg.det(turn))).T
    shell = linear_mesh(0.11 * turned, -0.02 * turned[None], faces)
    proof = certify(shell, under, Range.unit(("in",)))
    crossing = crossing_pairs(shell.tree.refit(shell.at(np.array([0.5]))), under.tree)
    assert len(crossing) > 0
    unproven = {tuple(pair) for pair in proof.open_pairs.tolist()}
    assert all(tuple(pair) in unproven for pair in crossing.tolist())


def test_a_conflict_names_the_layer_that_it_is_with() -> None:
    """One round is not enough for an outer layer that starts far behind: what is left is with the layer under it."""
    inner, outer = _tube_fit(0.006, follows=1.0), _tube_fit(0.015, follows=-1.5, bottom=0.7, top=1.0)
    over = repair_outfit([inner, outer], max_rounds=1, budget=20)[1]
    assert len(over.conflict_layers) == len(over.clearance.conflicts)
    assert set(over.conflict_layers.tolist()) <= {SKIN, 1}
    beyond = over.clearance.conflicts[:, 1] >= len(_body().faces)
    assert np.array_equal(over.conflict_layers == 1, beyond)


def test_fits_of_another_body_and_meshes_of_other_morphs_are_refused() -> None:
    fit = _tube_fit(0.01, follows=1.0)
    stranger = replace(fit, body=bare_body(("shrink",)))
    with pytest.raises(MatchError, match=r"repair_outfit: the fit of 'tube' must have the morphs of 'phantom'"):
        repair_outfit([fit, stranger])
    with pytest.raises(MatchError, match=r"joined: `sheets` must move with the same morphs .* got \[1, 2\] morphs"):
        joined(linear_body(_body()), linear_mesh(fit.base, np.zeros((2, len(fit.base), 3)), fit.garment.faces))
    with pytest.raises(MatchError, match=r"LinearMesh: `sheets` must have one value for each of 480 triangles, got 3"):
        replace(linear_cloth(fit), sheets=np.zeros(3, dtype=bool))
