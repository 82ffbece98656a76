"""What cloth sees of a skin: clearance, slopes and hollows with closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from tests.phantoms import RADIUS, phantom_body, tube

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.infer.skin import HOLLOW_BALL, ShapedSkin, spread_points


def test_slopes_are_what_clearance_loses_per_weight() -> None:
    body = phantom_body()
    skin, (points, _) = ShapedSkin(body), tube(clearance=0.03)
    here = np.array([0.2, 0.3, 0.1])
    look = skin.look(points, here)
    for morph in range(3):
        ahead, behind = here.copy(), here.copy()
        ahead[morph] += 1e-4
        behind[morph] -= 1e-4
        change = (skin.look(points, behind).clearance - skin.look(points, ahead).clearance) / 2e-4
        assert np.percentile(np.abs(change - look.slopes[:, morph]), 95) < 1e-3


def test_nothing_is_hollow_on_a_convex_body() -> None:
    skin, (points, _) = ShapedSkin(phantom_body()), tube(clearance=0.03)
    look = skin.look(points, np.zeros(3))
    assert skin.hollows(look, np.zeros(3)).max() < 1e-3


@pytest.mark.parametrize("depth", [0.01, 0.02])
def test_a_dent_is_as_hollow_as_it_is_deep(depth: float) -> None:
    # A flat sheet with a round dent whose rim lies `rim` away: the ball sinks in by rim² / 2ρ.
    side = np.linspace(-0.2, 0.2, 81)
    x, z = (grid.ravel() for grid in np.meshgrid(side, side))
    rim = 0.05
    y = -depth * (np.hypot(x, z) < rim)
    cells = (np.arange(80)[:, None] * 81 + np.arange(80)).ravel()
    faces = np.concatenate(
        [np.stack([cells, cells + 81, cells + 1], axis=1), np.stack([cells + 1, cells + 81, cells + 82], axis=1)]
    )
    sheet = np.stack([x, y, z], axis=1)
    body = Body("sheet", sheet, faces, (), np.zeros((0, len(sheet), 3)), Range.unit(()))
    skin = ShapedSkin(body)
    look = skin.look(np.array([[0.0, 0.01, 0.0]]), np.zeros(0))
    sunk = depth - rim**2 / (2 * HOLLOW_BALL)
    assert skin.hollows(look, np.zeros(0))[0] == pytest.approx(sunk, abs=2e-3)


@pytest.mark.parametrize("slope", [0.1, 0.15])
def test_a_cone_overhangs_its_foot_by_its_slope(slope: float) -> None:
    # A cone that widens upward: 0.6 m above a foot, as far as is looked, it stands out by 0.6 times its slope.
    heights, sides = np.linspace(0.0, 1.4, 141), 180
    angle = 2 * np.pi * np.arange(sides) / sides
    radius = 0.1 + slope * heights[:, None]
    rings = np.stack(
        [
            radius * np.sin(angle),
            np.broadcast_to(heights[:, None], radius.shape[:1] + angle.shape),
            radius * np.cos(angle),
        ],
        axis=-1,
    )
    corner = (np.arange(140)[:, None] * sides + np.arange(sides)).ravel()
    after = (np.arange(140)[:, None] * sides + (np.arange(sides) + 1) % sides).ravel()
    faces = np.concatenate(
        [np.stack([corner, after, after + sides], axis=1), np.stack([corner, after + sides, corner + sides], axis=1)]
    )
    cone = rings.reshape(-1, 3)
    skin = ShapedSkin(Body("cone", cone, faces, (), np.zeros((0, len(cone), 3)), Range.unit(())))
    look = skin.look(np.array([[0.0, 0.4, 0.16 + 0.4 * slope]]), np.zeros(0))
    assert skin.overhangs(look, np.zeros(0))[0] == pytest.approx(0.6 * slope, abs=0.006)
    upside_down = ShapedSkin(replace(skin.body, vertices=cone * [1.0, -1.0, 1.0], faces=faces[:, ::-1]))
    below = upside_down.look(np.array([[0.0, -0.4, 0.16 + 0.4 * slope]]), np.zeros(0))
    assert upside_down.overhangs(below, np.zeros(0))[0] < 0.003


def test_spread_points_cover_a_ring_evenly_in_whatever_order() -> None:
    angle = np.linspace(0, 2 * np.pi, 257)[:-1]
    ring = RADIUS * np.stack([np.cos(angle), 0.001 * angle, np.sin(angle)], axis=1)
    chosen = np.sort(angle[spread_points(ring, 16)])
    gaps = np.diff(np.append(chosen, chosen[0] + 2 * np.pi))
    assert gaps.max() <= 2.1 * gaps.min()
    order = np.random.default_rng(1).permutation(len(ring))
    again = np.sort(angle[order[spread_points(ring[order], 16)]])
    assert np.allclose(chosen, again)
