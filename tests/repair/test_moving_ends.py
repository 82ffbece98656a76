"""Cloth on a finger that curls follows it as one piece, on that morph and on no other."""

from dataclasses import replace

import numpy as np

import lift_phantoms
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.lift.feet import find_feet
from dressform.mesh.tree import Tree
from dressform.repair.whole.moving_ends import LimbMotion, find_moving_ends
from dressform.repair.whole.whole_parts import follow_whole


def fist(share: float = 1.0) -> Body:
    """A fist whose finger curls by a share, and which grows by a tenth."""
    body = lift_phantoms.finger()
    names = ("curl", "grow")
    deltas = np.concatenate([share * body.deltas, 0.1 * body.vertices[None]])
    return replace(body, morph_names=names, deltas=deltas, range=Range.unit(names))


def dressed(body: Body) -> Fit:
    return make_fit(body, lift_phantoms.stall())


def found(fit: Fit) -> list[np.ndarray]:
    tree = Tree(fit.body.vertices, fit.body.faces)
    feet = find_feet(tree, fit.garment.vertices, fit.garment.faces)
    result = find_moving_ends(fit.body, fit.garment, feet, tree=tree)
    return [np.concatenate([[end.core.mean()], end.morphs]) for end in result]


def test_a_finger_that_curls_moves_by_itself_on_that_morph_alone() -> None:
    assert [list(each) for each in found(dressed(fist()))] == [[1.0, 1.0, 0.0]]


def test_a_finger_that_hardly_curls_moves_with_its_limb() -> None:
    assert found(dressed(fist(0.1))) == []


def test_what_grows_as_a_whole_has_no_motion_of_its_own() -> None:
    body = fist()
    limbs = LimbMotion(body.vertices, body.faces)
    assert limbs.own_motion(body.deltas[1]).max() < 1e-9
    assert limbs.own_motion(body.deltas[0]).max() > 0.25


def test_a_stall_on_a_curling_finger_bends_less_and_grows_as_before() -> None:
    fit = dressed(fist())
    result = follow_whole(fit)
    ends = [part for part in result.parts if len(part.vertices) == len(fit.base)]
    assert len(ends) == 1
    assert ends[0].form_before > 0.003
    assert ends[0].form_after < 0.9 * ends[0].form_before
    assert ends[0].pucker_after < 0.03 * ends[0].pucker_before
    np.testing.assert_allclose(result.fit.deltas[1], fit.deltas[1], atol=1e-12)


def test_a_thick_limb_is_no_end() -> None:
    wide = replace(fist(), vertices=3.0 * fist().vertices, deltas=3.0 * fist().deltas)
    stall = lift_phantoms.stall()
    assert found(make_fit(wide, replace(stall, vertices=3.0 * stall.vertices))) == []
