"""Single vertices that leave their neighbours are told from rims, flanks, tops and noise."""

import numpy as np
import pytest

from dressform.audit.moved import MorphAtWeight
from dressform.audit.skin import AuditedSkin
from dressform.audit.stray import islands, stray_moves
from dressform.body.body import Body
from dressform.body.range import Range
from meshes import sheet

SIZE = 41
SIDE = 0.4  # metres, so that edges are 1 cm long
MIDDLE = SIZE * (SIZE // 2) + SIZE // 2


@pytest.fixture(scope="module", params=[None, 3])
def skin(request: pytest.FixtureRequest) -> AuditedSkin:
    unit, faces = sheet(SIZE, seed=request.param)
    vertices = SIDE * unit
    return AuditedSkin.of(Body("sheet", vertices, faces, (), np.zeros((0, len(vertices), 3)), Range.unit(())))


def up(heights: np.ndarray) -> np.ndarray:
    return heights[:, None] * np.array([0.0, 0.0, 1.0])


def away(skin: AuditedSkin) -> np.ndarray:
    return np.linalg.norm(skin.vertices - skin.vertices[MIDDLE], axis=1)


def test_one_vertex_that_leaves_is_alone_and_departs_by_what_it_moved(skin: AuditedSkin) -> None:
    heights = 0.01 * np.exp(-((away(skin) / 0.12) ** 2))
    heights[MIDDLE] += 0.02
    found = stray_moves(skin, up(heights))
    assert np.flatnonzero(found).tolist() == [MIDDLE]
    assert found[MIDDLE] == pytest.approx(0.02, rel=0.05)


@pytest.mark.parametrize("width", [0.02, 0.04, 0.12])
def test_the_top_of_a_bump_is_no_stray(skin: AuditedSkin, width: float) -> None:
    assert not stray_moves(skin, up(np.exp(-((away(skin) / width) ** 2)))).any()


def test_a_rim_is_no_stray(skin: AuditedSkin) -> None:
    assert not stray_moves(skin, up((away(skin) < 0.08).astype(float))).any()


def test_noise_all_over_is_no_stray(skin: AuditedSkin) -> None:
    rng = np.random.default_rng(7)
    assert not stray_moves(skin, rng.standard_normal(skin.vertices.shape)).any()


def test_a_linear_move_is_no_stray_however_the_mesh_is_cut(skin: AuditedSkin) -> None:
    assert not stray_moves(skin, skin.vertices @ np.array([[0.3, 0.1, 0.2], [0.0, 0.5, 0.1], [0.2, 0.0, 0.7]])).any()


def _around(skin: AuditedSkin, vertex: int) -> np.ndarray:
    return np.linalg.norm(skin.vertices - skin.vertices[vertex], axis=1) < 0.012


def test_a_small_spot_is_an_island_only_far_from_what_moves(skin: AuditedSkin) -> None:
    main = np.where(away(skin) < 0.10, 0.01, 0.0)
    none = np.zeros(len(main), dtype=bool)
    far, near = (
        np.linalg.norm(skin.vertices - skin.vertices[at], axis=1) < 0.012 for at in (3 * SIZE + 3, MIDDLE + 12)
    )
    assert 0.099 < away(skin)[near].min() < 0.125
    assert np.array_equal(islands(skin, MorphAtWeight.of(skin, up(main + 0.001 * far)), none), far)
    assert not islands(skin, MorphAtWeight.of(skin, up(main + 0.001 * near)), none).any()


def test_a_stray_vertex_is_not_told_twice(skin: AuditedSkin) -> None:
    main = np.where(away(skin) < 0.10, 0.01, 0.0)
    alone = np.arange(len(main)) == 3 * SIZE + 3
    assert not islands(skin, MorphAtWeight.of(skin, up(main + 0.001 * alone)), alone).any()


def test_two_large_spots_are_both_what_the_morph_is_for(skin: AuditedSkin) -> None:
    left, right = (np.abs(skin.vertices[:, 0] - x) < 0.04 for x in (0.06, 0.34))
    none = np.zeros(len(left), dtype=bool)
    assert not islands(skin, MorphAtWeight.of(skin, up(0.01 * (left | right))), none).any()
