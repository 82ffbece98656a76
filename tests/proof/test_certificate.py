"""What is certified holds against an adversary; what touches is never certified."""

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.mesh.intersect import crossing_pairs
from dressform.proof.bound_kernels import corners_at
from dressform.proof.certificate import certify, rounding_slack
from dressform.proof.linear_mesh import LinearMesh, linear_mesh
from dressform.proof.triangle_kernels import triangle_gap
from proof.spheres import ball, seeded_case

CASES = 200


def _gap_at(cloth: LinearMesh, body: LinearMesh, pair: np.ndarray, weights: np.ndarray) -> float:
    a, b, vector = np.zeros((3, 3)), np.zeros((3, 3)), np.zeros(3)
    corners_at(cloth.terms, cloth.faces[pair[0]], weights, a)
    corners_at(body.terms, body.faces[pair[1]], weights, b)
    return triangle_gap(a, b, vector, np.zeros(3))


def _adversary(cloth: LinearMesh, body: LinearMesh, box: Range, pair: np.ndarray, rng: np.random.Generator) -> float:
    """Smallest gap that descent from random shapes over coordinates, ends of intervals included, can find."""
    least = np.inf
    for _ in range(2):
        weights = rng.uniform(box.low, box.high)
        gap = _gap_at(cloth, body, pair, weights)
        for reach in (1.0, 0.5, 0.2, 0.05):
            for k in rng.permutation(len(weights)):
                for trial in (box.low[k], box.high[k], *(weights[k] + reach * box.widths[k] * np.array([-0.5, 0.5]))):
                    moved = weights.copy()
                    moved[k] = np.clip(trial, box.low[k], box.high[k])
                    lower = _gap_at(cloth, body, pair, moved)
                    if lower < gap:
                        gap, weights = lower, moved
        least = min(least, gap)
    return least


@pytest.mark.parametrize("block", range(4))
def test_no_shape_violates_a_certified_pair(block: int) -> None:
    attacked = 0
    for seed in range(block * CASES // 4, (block + 1) * CASES // 4):
        rng = np.random.default_rng(seed)
        cloth, body, box = seeded_case(seed, clearance=rng.uniform(0.001, 0.02))
        margin = float(rng.uniform(0.0, 0.002))
        proof = certify(cloth, body, box, margin=margin, budget=60)
        sure = np.flatnonzero(proof.certified)
        weakest = sure[np.argsort(proof.bounds[sure])[:3]]
        for pair in proof.pairs[weakest]:
            assert _adversary(cloth, body, box, pair, rng) >= margin
            attacked += 1
        certain = ~proof.excluded
        certain[proof.open_pairs[:, 0]] = False
        weights = rng.uniform(box.low, box.high)
        crossing = crossing_pairs(cloth.tree.refit(cloth.at(weights)), body.tree.refit(body.at(weights)))
        assert not certain[crossing[:, 0]].any()
    assert attacked > CASES // 4


@pytest.mark.parametrize("seed", range(10))
def test_pairs_made_to_touch_are_never_certified(seed: int) -> None:
    """The shell's morph pulls it into the ball by its clearance somewhere within the range."""
    rng = np.random.default_rng(seed)
    vertices, faces = ball(2)
    clearance = 0.01
    cloth = 0.1 * vertices * (1 + 10 * clearance)
    inward = np.zeros((1, len(vertices), 3))
    spot = rng.integers(len(vertices))
    inward[0, spot] = -1.5 * clearance * vertices[spot]
    shell, core = linear_mesh(cloth, inward, faces), linear_mesh(0.1 * vertices, np.zeros_like(inward), faces)
    proof = certify(shell, core, Range.unit(("in",)))
    crossing = crossing_pairs(shell.tree.refit(shell.at(np.array([1.0]))), core.tree)
    assert len(crossing)
    keys = {tuple(pair) for pair in proof.open_pairs.tolist()}
    assert all(tuple(pair) in keys for pair in crossing.tolist())
    assert proof.share < 1.0


def test_a_shell_that_follows_exactly_is_certified_whole() -> None:
    vertices, faces = ball(2)
    grow = 0.3 * 0.1 * vertices[None]
    proof = certify(
        linear_mesh(0.11 * vertices, grow, faces), linear_mesh(0.1 * vertices, grow, faces), Range.unit(("grow",))
    )
    assert proof.share == 1.0
    assert proof.certified_area == 1.0
    assert proof.excluded_area == 0.0


def test_splitting_the_range_certifies_what_one_direction_cannot() -> None:
    """Both turn by 80 degrees: no single direction separates a pair over the whole turn, pieces of it do."""
    vertices, faces = ball(2)
    angle = np.radians(80)
    turn = np.array([[np.cos(angle), 0, np.sin(angle)], [0, 1, 0], [-np.sin(angle), 0, np.cos(angle)]])
    spin = 0.1 * (vertices @ turn.T - vertices)[None]
    shell, core = linear_mesh(0.104 * vertices, 1.04 * spin, faces), linear_mesh(0.1 * vertices, spin, faces)
    whole = certify(shell, core, Range.unit(("turn",)), budget=1)
    split = certify(shell, core, Range.unit(("turn",)), budget=200)
    assert whole.share < split.share
    assert split.share == 1.0
    assert split.split.any()


def test_cloth_inside_the_body_at_the_base_is_left_out_and_counted() -> None:
    vertices, faces = ball(2)
    shifted = 0.102 * vertices + np.array([0.0, 0.01, 0.0])
    still = np.zeros((1, len(vertices), 3))
    proof = certify(
        linear_mesh(shifted, still, faces), linear_mesh(0.1 * vertices, still, faces), Range.unit(("none",))
    )
    assert 0.2 < proof.excluded_area < 0.8
    assert not np.isin(proof.pairs[:, 0], np.flatnonzero(proof.excluded)).any()


def test_the_rounding_slack_covers_float32_storage_and_blending() -> None:
    rng = np.random.default_rng(3)
    cloth, _, box = seeded_case(3, clearance=0.01, morphs=20)
    stored = cloth.terms.astype(np.float32)
    worst = 0.0
    for _ in range(200):
        weights = rng.uniform(box.low, box.high)
        live = stored[:, 0].copy()
        for k in range(20):
            live += np.float32(weights[k]) * stored[:, k + 1]
        worst = max(worst, float(np.linalg.norm(live - cloth.at(weights), axis=1).max()))
    assert worst < rounding_slack(cloth, box)
