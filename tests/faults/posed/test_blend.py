"""Where a blend folds the skin, against the closed form of det F, and stretch that a pose carries on."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.body.stance import carry
from dressform.faults.posed.blend import carried_on, turned_inside_out
from dressform.faults.stretch import principal_stretches
from dressform.fit.contact import blended_maps
from dressform.fit.posed import body_maps
from limbs import RADIUS, RAMP, bend, limb


@pytest.mark.parametrize("degrees", [60.0, 90.0, 120.0, 140.0])
def test_skin_folds_where_the_determinant_of_the_posed_map_is_negative(degrees: float) -> None:
    """det F = 1 - 4 w (1-w) s² + w' [(2w-1)(1-cos θ) y - z sin θ], own derivation; +Z is inside the bend."""
    body, stance = limb(along=201, around=64), bend(degrees)
    maps = body_maps(body, stance)
    posed = carry(maps, body.vertices)
    wall = np.flatnonzero((np.abs(body.vertices[body.faces, 1]) < 0.2).all(axis=1))
    told = turned_inside_out(blended_maps(maps, body.faces[wall]), body.vertices, posed, body.faces, wall)
    middles = body.vertices[body.faces[wall]].mean(axis=1)
    y, z, turn = middles[:, 1], middles[:, 2], np.deg2rad(degrees)
    fore = np.clip(0.5 + y / RAMP, 0.0, 1.0)
    rises = np.where(np.abs(y) < RAMP / 2, 1.0 / RAMP, 0.0)
    rest = 1.0 - 4.0 * fore * (1.0 - fore) * np.sin(turn / 2) ** 2
    determinant = rest + rises * ((2.0 * fore - 1.0) * (1.0 - np.cos(turn)) * y - z * np.sin(turn))
    sure = (np.abs(determinant) > 0.1) & (np.abs(np.abs(y) - RAMP / 2) > 0.003)
    assert sure.sum() > 0.9 * len(wall)
    assert np.array_equal(told[wall][sure], determinant[sure] < 0.0)
    depth = RAMP / 2 / np.tan(turn / 2)
    folded = told[wall] & (np.abs(y) < 0.002)
    assert folded.any() == (depth < RADIUS)
    if folded.any():
        assert z[folded].min() == pytest.approx(depth, abs=0.004)


def metric(seed: int) -> np.ndarray:
    sides = np.random.default_rng(seed).normal(size=(1, 3, 2))
    inner = np.einsum("nxi,nxj->nij", sides, sides)
    return np.stack([inner[:, 0, 0], inner[:, 0, 1], inner[:, 1, 1]], axis=1)


@given(st.integers(0, 2**31 - 4))
def test_stretch_against_the_skin_is_the_same_after_a_smooth_pose(seed: int) -> None:
    skin, shaped, posed = metric(seed), metric(seed + 1), metric(seed + 2)
    before = principal_stretches(shaped, against=skin)
    after = principal_stretches(posed, against=carried_on(skin, shaped, posed))
    assert after == pytest.approx(before, rel=1e-6)


def test_pose_that_moves_nothing_leaves_the_skin_as_it_is() -> None:
    skin, shaped = metric(1), metric(2)
    assert carried_on(skin, shaped, shaped) == pytest.approx(skin, rel=1e-12)


def test_cloth_that_grew_with_the_skin_is_unstretched_by_a_smooth_pose() -> None:
    shaped, posed = metric(3), metric(4)
    assert carried_on(shaped, shaped, posed) == pytest.approx(posed, rel=1e-9)
