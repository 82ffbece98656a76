"""Hard parts move as one stiff piece with the cloth under them, keep their size, and say what that cost."""

from dataclasses import replace

import numpy as np
import pytest

from bare import bare_fit
from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_areas
from dressform.repair.whole.hard_parts import HardParts, hard_pieces, keep_rigid
from meshes import joined, sheet, sphere

SIDE = 0.3
HEIGHT = 0.008
RADIUS = 0.005
PLACES = ((0.105, 0.105), (0.2, 0.17))
MORPHS = ("one", "two")
WIDE = Range(MORPHS, np.array([-1.0, 0.0]), np.array([0.5, 1.0]))


def _garment() -> Garment:
    """A flat sheet with two balls just above it."""
    flat, faces = sheet(41)
    ball, ball_faces = sphere(1, radius=RADIUS)
    balls = [(ball + np.array([*place, HEIGHT]), ball_faces) for place in PLACES]
    vertices, triangles = joined((SIDE * flat, faces), *balls)
    parts = np.repeat([0, 1, 2], [len(faces), len(ball_faces), len(ball_faces)])
    return Garment("sheet", vertices, triangles, ("cloth", "ball a", "ball b"), parts, np.ones(len(vertices)))


def _soft(garment: Garment) -> np.ndarray:
    return np.arange(len(garment.vertices)) < 41 * 41


def _fit(*fields: np.ndarray) -> Fit:
    """The sheet moved by the fields; its balls by noise."""
    garment = _garment()
    noise = 0.01 * np.random.default_rng(5).normal(size=(len(fields), len(garment.vertices), 3))
    deltas = np.where(_soft(garment)[:, None], np.stack(fields), noise)
    return bare_fit(garment, MORPHS[: len(fields)], deltas)


def _turned(turn: tuple[float, float, float]) -> np.ndarray:
    vertices = _garment().vertices
    return np.cross(np.array(turn), vertices - np.array([0.0, 0.05, 0.2])) + np.array([0.01, 0.0, -0.02])


def _repaired(*fields: np.ndarray, box: Range = WIDE) -> HardParts:
    return keep_rigid(_fit(*fields), box=box)


def test_a_button_on_turning_cloth_turns_with_it() -> None:
    fields = _turned((0.2, -0.1, 0.3)), _turned((0.0, 0.4, 0.1))
    result = _repaired(*fields)
    assert np.allclose(result.fit.deltas, np.stack(fields), atol=1e-12)
    assert [part.name for part in result.parts] == ["ball a", "ball b"]
    assert all(part.seated for part in result.parts)


def test_the_size_error_is_that_of_the_largest_turn_over_the_range() -> None:
    """Turns 0.3 about x and 0.4 about y; in [-1, 0.5] × [0, 1] the corner (-1, 1) turns by 0.5."""
    result = _repaired(_turned((0.3, 0.0, 0.0)), _turned((0.0, 0.4, 0.0)))
    assert result.size_error == pytest.approx(np.sqrt(1.0 + 0.5**2) - 1.0, rel=1e-9)
    ball = result.parts[0].vertices
    moved = result.fit.at(np.array([-1.0, 1.0]))[ball]
    base = result.fit.base[ball]
    stretch = np.linalg.norm(moved - moved.mean(axis=0), axis=1) / np.linalg.norm(base - base.mean(axis=0), axis=1)
    assert stretch.max() == pytest.approx(1.0 + result.size_error, rel=2e-2)
    assert stretch.max() <= 1.0 + result.size_error + 1e-12


def test_a_button_on_growing_cloth_keeps_its_size() -> None:
    growing = 0.3 * _garment().vertices
    result = _repaired(growing, 0 * growing)
    ball = result.parts[0].vertices
    assert result.size_error < 1e-12
    assert np.ptp(result.fit.deltas[0, ball], axis=0).max() < 1e-12
    assert result.parts[0].bend_before > 1e-3
    assert result.parts[0].bend_after < 1e-12
    assert result.parts[0].scale_after < 1e-12


def test_what_a_part_grew_by_before_is_told() -> None:
    garment = _garment()
    fit = bare_fit(garment, ("one", "two"), np.stack([0.3 * garment.vertices, 0 * garment.vertices]))
    part = keep_rigid(fit, box=WIDE).parts[0]
    assert part.scale_before == pytest.approx(0.3)
    assert part.bend_before < 1e-12


def test_the_seat_error_is_how_far_the_cloth_bends_away_under_the_part() -> None:
    """Cloth that rises by a x²: the ball rises by the mean of it, the cloth under each of its vertices by its own."""
    garment = _garment()
    centre = np.array([*PLACES[0], 0.0])
    rise = 40.0 * (garment.vertices[:, 0] - centre[0]) ** 2
    field = np.stack([0 * rise, 0 * rise, rise], axis=1)
    part = _repaired(field, 0 * field).parts[0]
    grid = np.linspace(0, SIDE, 41)
    under = np.interp(garment.vertices[part.vertices, 0], grid, 40.0 * (grid - centre[0]) ** 2)
    areas = vertex_areas(garment.vertices, garment.faces)[part.vertices]
    mean = areas @ under / areas.sum()
    assert np.allclose(part.motion.shifts[0], [0.0, 0.0, mean], atol=1e-12)
    assert part.seat_error == pytest.approx(np.abs(under - mean).max(), rel=1e-9)
    assert part.seat_error > 0.3 * 40.0 * RADIUS**2


def test_a_fit_without_hard_parts_is_returned_as_it_came() -> None:
    garment = Garment.of("moderate", *sheet(9))
    fit = bare_fit(garment, ("one",), np.ones((1, 81, 3)))
    result = keep_rigid(fit)
    assert result.fit is fit
    assert result.parts == ()
    assert result.cost.largest_move == 0.0


def test_the_cloth_itself_is_not_touched() -> None:
    fit = _fit(_turned((0.2, 0.0, 0.0)), _turned((0.0, 0.1, 0.0)))
    before = fit.deltas.copy()
    result = keep_rigid(fit, box=WIDE)
    soft = _soft(fit.garment)
    assert np.array_equal(result.fit.deltas[:, soft], before[:, soft])
    assert np.array_equal(result.fit.base, fit.base)
    assert np.array_equal(fit.deltas, before)


def test_a_part_on_no_cloth_follows_its_own_mean_motion() -> None:
    garment = Garment.of("shoe", *sphere(2, radius=0.1))
    turn = np.cross(np.array([0.0, 0.2, 0.0]), garment.vertices) + 0.1 * garment.vertices
    fit = bare_fit(garment, ("one",), turn[None], following=Following(hard=("shoe",)))
    result = keep_rigid(fit)
    assert not result.parts[0].seated
    assert result.seat_error == 0.0
    assert np.allclose(result.fit.deltas[0], np.cross(np.array([0.0, 0.2, 0.0]), garment.vertices), atol=1e-12)


def test_only_named_parts_are_stiff_where_none_are_looked_for() -> None:
    pieces = hard_pieces(_garment(), parts=["ball b"], detect=False)
    assert np.array_equal(np.flatnonzero(pieces >= 0), np.arange(41 * 41 + 42, 41 * 41 + 84))
    assert pieces.max() == 0


def test_a_hard_part_sewn_from_two_pieces_stays_one() -> None:
    """A ball cut along its equator, every vertex there doubled."""
    vertices, faces = sphere(2, radius=0.1)
    upper = vertices[faces][:, :, 1].mean(axis=1) > 0
    doubled = np.concatenate([faces[upper], faces[~upper] + len(vertices)])
    both = np.concatenate([vertices, vertices])
    used = np.unique(doubled)
    garment = Garment.of("shoe", both[used], np.searchsorted(used, doubled))
    assert len(used) > len(vertices)
    assert np.array_equal(hard_pieces(garment, parts=["shoe"]), np.zeros(len(used)))


def test_after_an_earlier_repair_the_part_is_put_back_onto_its_cloth_by_a_true_rotation() -> None:
    angle = 0.5
    rotation = np.array([[np.cos(angle), -np.sin(angle), 0.0], [np.sin(angle), np.cos(angle), 0.0], [0.0, 0.0, 1.0]])
    fit = _fit(_turned((0.1, 0.0, 0.0)), _turned((0.0, 0.1, 0.0)))
    turned = fit.garment.vertices @ rotation.T
    squashed = np.where(_soft(fit.garment)[:, None], turned, 0.9 * turned)
    result = keep_rigid(replace(fit, base=squashed), box=WIDE)
    assert np.allclose(result.fit.base, turned, atol=1e-12)


def test_an_unknown_part_is_refused_and_the_parts_are_listed() -> None:
    with pytest.raises(ArgumentError, match="parts of 'sheet': cloth, ball a, ball b, got 'bell'"):
        keep_rigid(_fit(_turned((0.1, 0.0, 0.0)), _turned((0.1, 0.0, 0.0))), box=WIDE, parts=["bell"])
