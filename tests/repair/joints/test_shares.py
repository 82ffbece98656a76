"""The least shares: zero where nothing is asked, exact where smoothness costs nothing, the minimum everywhere."""

import numpy as np
from scipy.optimize import minimize
from scipy.sparse import csr_array

from dressform.repair.joints.shares import least_shares

LINE = 12
MASS = np.full(LINE, 2e-4)
CHAIN = np.diag(np.r_[1.0, np.full(LINE - 2, 2.0), 1.0]) - np.eye(LINE, k=1) - np.eye(LINE, k=-1)
STIFF = csr_array(CHAIN)
PRICE = 1e6


def asked(seed: int, rows: int = 4) -> tuple[np.ndarray, np.ndarray]:
    draw = np.random.default_rng(seed)
    return draw.normal(0.0, 0.003, (rows, LINE)), draw.normal(0.004, 0.01, (rows, LINE))


def test_nothing_is_taken_where_nothing_falls_short() -> None:
    _, gains = asked(0)
    demands = -np.ones_like(gains), gains
    assert not least_shares(STIFF, MASS, demands, smooth=0.03, price=PRICE).any()


def test_without_smoothness_each_vertex_has_its_closed_form() -> None:
    gains, lacks = np.full((1, LINE), 0.01), np.linspace(-0.002, 0.02, LINE)[None]
    found = least_shares(STIFF, MASS, (lacks, gains), smooth=0.0, price=PRICE)
    assert np.allclose(found, np.clip(PRICE * gains * lacks / (1 + PRICE * gains**2), 0.0, 1.0)[0], atol=1e-9)


def test_minimum_is_that_of_a_general_solver() -> None:
    for seed in range(5):
        lacks, gains = asked(seed)

        def energy(shares: np.ndarray, lacks: np.ndarray = lacks, gains: np.ndarray = gains) -> float:
            short = np.maximum(lacks - gains * shares, 0.0)
            own = MASS * shares @ shares + 0.01**2 * shares @ CHAIN @ shares
            return float(0.5 * own.sum() + 0.5 * PRICE * (MASS * short**2).sum()) * 1e4

        best = minimize(energy, np.full(LINE, 0.5), bounds=[(0, 1)] * LINE, method="L-BFGS-B", tol=1e-14)
        found = least_shares(STIFF, MASS, (lacks, gains), smooth=0.01, price=PRICE)
        assert energy(found) <= best.fun * (1 + 1e-6)
        assert found.min() >= 0.0
        assert found.max() <= 1.0


def test_opposed_demands_meet_between_them() -> None:
    lacks = np.stack([np.full(LINE, 0.01), np.full(LINE, -0.004)])
    gains = np.stack([np.full(LINE, 0.01), np.full(LINE, -0.01)])
    found = least_shares(STIFF, MASS, (lacks, gains), smooth=0.03, price=PRICE)
    assert np.all((found > 0.4) & (found < 1.0))
    assert np.ptp(found) < 1e-6
