"""Joint weights smoothed along the cloth: a linear ramp is continued exactly, in any unit of length."""

from dataclasses import replace

import numpy as np
import pytest

from bent_limb import HALF, RADIUS, limb, wall, weights_of
from dressform.body.body import Body
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.lift import inpaint
from dressform.lift.inpaint import matches, smoothed_skin
from dressform.lift.lift import make_lift

RAMP = 2 * HALF  # all along the limb


def ballooned(*, out: float = 0.15) -> Garment:
    """A sleeve at 6 mm that stands far off in its middle third, where no skin is near."""
    vertices, faces = wall(RADIUS + 0.006, -0.24, 0.24, rings=49, sides=16)
    away = np.abs(vertices[:, 1]) < 0.08
    vertices[away] *= np.array([1 + out / RADIUS, 1.0, 1 + out / RADIUS])
    return Garment.of("balloon", vertices, faces)


def smoothed(body: Body, garment: Garment) -> np.ndarray:
    return smoothed_skin(make_lift(body, garment, Following(method="surface")), body.skin).dense(2)


def test_weights_linear_along_a_tube_are_continued_linearly_over_a_gap() -> None:
    body = limb(ramp=RAMP)
    vertices, faces = wall(RADIUS + 0.006, -0.24, 0.24, rings=49, sides=24)
    garment = Garment.of("sleeve", vertices, faces)
    lift = make_lift(body, garment, Following(method="surface"))
    held = np.abs(vertices[:, 1]) > 0.08
    cloth = inpaint._Cloth.of(lift)
    exact = weights_of(vertices[:, 1], ramp=RAMP).dense(2)
    found = inpaint._continued(cloth, np.where(held[:, None], exact, 0.5), held)
    assert np.abs(found - exact).max() < 1e-9


def test_cloth_far_from_the_skin_gets_weights_between_those_of_its_rims() -> None:
    body, garment = limb(ramp=RAMP), ballooned()
    lift = make_lift(body, garment, Following(method="surface"))
    assert not matches(lift)[np.abs(garment.vertices[:, 1]) < 0.07].any()
    assert matches(lift)[np.abs(garment.vertices[:, 1]) > 0.1].all()
    lower = smoothed(body, garment)[:, 1]
    assert lower.min() >= 0.0
    rings = lower.reshape(49, 16)
    assert np.ptp(rings, axis=1).max() < 1e-3  # the same all round
    assert np.diff(rings.mean(axis=1)).min() > -1e-3  # and rising from rim to rim


def test_weights_do_not_depend_on_the_unit_of_length(monkeypatch: pytest.MonkeyPatch) -> None:
    body, garment = limb(ramp=RAMP), ballooned()
    metres = smoothed(body, garment)
    monkeypatch.setattr(inpaint, "LENGTH", 100 * inpaint.LENGTH)
    large = replace(body, vertices=100 * body.vertices, deltas=100 * body.deltas)
    centimetres = smoothed(large, replace(garment, vertices=100 * garment.vertices))
    assert np.abs(metres - centimetres).max() < 1e-9


def test_inside_out_cloth_matches_as_the_right_way_round_does() -> None:
    body, garment = limb(ramp=RAMP), ballooned()
    turned = replace(garment, faces=garment.faces[:, ::-1])
    assert np.abs(smoothed(body, garment) - smoothed(body, turned)).max() < 1e-9


def test_piece_that_matches_nowhere_has_the_lifted_weights() -> None:
    body = limb(ramp=RAMP)
    sleeve, faces = wall(RADIUS + 0.006, -0.2, 0.2, rings=17, sides=16)
    far, _ = wall(RADIUS + 0.2, -0.2, 0.2, rings=17, sides=16)
    garment = Garment.of("two", np.vstack([sleeve, far]), np.vstack([faces, faces + len(sleeve)]))
    lift = make_lift(body, garment, Following(method="surface"))
    lifted = lift.shares(body.skin.dense(2))
    assert np.abs(smoothed(body, garment)[len(sleeve) :] - lifted[len(sleeve) :]).max() < 1e-9
