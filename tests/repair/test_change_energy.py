"""The energy of a change against a wave round a pipe, which is an eigenfunction: 1 + s² k² + b⁴ k⁴ per unit of mass."""

from dataclasses import replace

import numpy as np
import pytest

from bare import bare_fit
from dressform.fit.fit import Fit
from dressform.garment.garment import Garment
from dressform.repair.clear.clearance import BEND_LENGTH, HELD, PIECE_SHARE, STRETCH_LENGTH, change_energy
from fault_meshes import pipe

RADIUS, LENGTH = 0.1, 0.3


def wave_energy(fit: Fit, waves: int, **options: float) -> float:
    """Energy of cos(m · angle) over its mass."""
    energy, mass = change_energy(fit, **options)
    wave = np.cos(waves * np.arctan2(fit.base[:, 0], fit.base[:, 2]))
    return float(wave @ (energy @ wave) / (wave @ (mass * wave)))


def fit_of(vertices: np.ndarray, faces: np.ndarray) -> Fit:
    return bare_fit(Garment.of("pipe", vertices, faces), (), np.zeros((0, *vertices.shape)))


@pytest.mark.parametrize("waves", [2, 4, 6])
@pytest.mark.parametrize("bend_length", [0.01, 0.02, 0.04])
def test_a_wave_round_a_pipe_costs_its_height_its_stretch_and_its_bend(waves: int, bend_length: float) -> None:
    wave_number = waves / RADIUS
    expected = 1 + (STRETCH_LENGTH * wave_number) ** 2 + (bend_length * wave_number) ** 4
    found = wave_energy(fit_of(*pipe(RADIUS, LENGTH, edge=0.01)), waves, bend_length=bend_length)
    assert found == pytest.approx(expected, rel=0.05)


def test_a_shift_costs_its_height_alone() -> None:
    assert wave_energy(fit_of(*pipe(RADIUS, LENGTH, edge=0.02)), 0) == pytest.approx(1, rel=1e-9)


@pytest.mark.parametrize("pieces", [1, 2])
def test_the_bend_length_is_a_quarter_of_the_extent_of_a_small_mean_piece(pieces: int) -> None:
    """A glove is bent at shorter lengths than a coat, and a pair of gloves at those of one glove."""
    radius, length = 0.02, 0.1
    vertices, faces = pipe(radius, length, edge=0.003)
    step = np.array([0.0, 2 * length, 0.0])
    both = np.concatenate([vertices + piece * step for piece in range(pieces)])
    fit = fit_of(both, np.concatenate([faces + piece * len(vertices) for piece in range(pieces)]))
    bend_length = PIECE_SHARE * np.sqrt(2 * np.pi * radius * length)
    assert bend_length < 0.5 * BEND_LENGTH
    wave_number = 2 / radius
    expected = 1 + (STRETCH_LENGTH * wave_number) ** 2 + (bend_length * wave_number) ** 4
    assert wave_energy(fit, 2) == pytest.approx(expected, rel=0.05)


def test_a_vertex_that_does_not_follow_is_held_by_its_weight() -> None:
    vertices, faces = pipe(RADIUS, LENGTH, edge=0.02)
    fit = fit_of(vertices, faces)
    strength = np.where(np.arange(len(vertices)) == 3, 0.0, 1.0)
    held = replace(fit, garment=replace(fit.garment, strength=strength))
    free, mass = change_energy(fit)
    added = (change_energy(held)[0] - free).toarray()
    assert added[3, 3] == pytest.approx(HELD * mass[3], rel=1e-6)
    assert np.count_nonzero(np.abs(added) > 1e-6 * HELD * mass[3]) == 1
