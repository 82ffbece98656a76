"""The programme's optimum is the one known by hand, and the one of a general conic solver."""

import clarabel
import numpy as np
import pytest
from scipy.sparse import csc_array, csr_array, diags_array, eye_array, vstack

from dressform.errors import ArgumentError
from dressform.repair.clear.programme import PENALTY, RELAX, Constraints, Solution, solve
from dressform.repair.clear.programme_kernels import multiplier, slope_at

UP = np.array([[0.0, 1.0, 0.0]])
PRICE = 3.0


def _one_vertex(terms: list[float], needed: float, low: list[float], high: list[float]) -> Solution:
    rows = Constraints(np.array([0]), UP, np.array([terms]), np.array([needed]))
    energy, mass = csr_array(np.array([[2.0]])), np.array([1.0])
    return solve(
        energy,
        mass,
        rows,
        np.array(low),
        np.array(high),
        base_price=PRICE,
        tolerance=1e-9,
        balance=1e-7,
        max_steps=5000,
    )


def test_a_constraint_that_holds_moves_nothing() -> None:
    assert np.abs(_one_vertex([0.01, 0.005], 0.002, [0.0], [1.0]).moves).max() == 0.0


def test_a_shortfall_of_the_base_alone_is_met_by_the_base_alone() -> None:
    """The morph only raises the cloth, so at its worst it counts nothing."""
    moves = _one_vertex([-0.01, 0.05], 0.002, [0.0], [1.0]).moves[0]
    assert moves[0] == pytest.approx([0, 0.012, 0], abs=1e-8)
    assert moves[1] == pytest.approx([0, 0, 0], abs=1e-8)


def test_base_and_delta_share_a_shortfall_by_their_prices() -> None:
    """min PRICE b² + d² with b + d = r gives b = r / (1 + PRICE), d = PRICE b."""
    moves = _one_vertex([0.01, -0.03], 0.002, [0.0], [1.0]).moves[0, :, 1]
    short = 0.002 - 0.01 + 0.03
    assert moves == pytest.approx([short / (1 + PRICE), short * PRICE / (1 + PRICE)], abs=1e-8)


def test_a_wider_interval_makes_its_delta_dearer_and_its_effect_larger() -> None:
    """With weight up to 2 the cloth's move 2 d counts: min PRICE b² + (2 d)² with b + 2 d = r."""
    moves = _one_vertex([0.01, -0.03], 0.002, [0.0], [2.0]).moves[0, :, 1]
    short = 0.002 - 0.01 + 0.06
    assert moves == pytest.approx([short / (1 + PRICE), short * PRICE / (1 + PRICE) / 2], abs=1e-8)


def _kept(terms: list[float], needed: float, *, cap: float) -> Solution:
    """One vertex whose base does not move."""
    rows = Constraints(np.array([0]), UP, np.array([terms]), np.array([needed]))
    low, high = np.array([0.0]), np.array([1.0])
    return solve(
        csr_array(np.array([[2.0]])), np.array([1.0]), rows, low, high, base_price=np.inf, cap=cap, tolerance=1e-9,
        balance=1e-7, max_steps=5000,
    )  # fmt: skip


def test_where_the_base_is_fixed_the_delta_meets_the_shortfall_alone() -> None:
    moves = _kept([0.01, -0.03], 0.002, cap=5.0).moves[0]
    assert not moves[0].any()
    assert moves[1, 1] == pytest.approx(0.022, abs=1e-8)


def test_a_shortfall_of_a_fixed_base_is_left_and_told() -> None:
    found = _kept([0.001, 0.05], 0.002, cap=5.0)
    assert not found.moves[0, 0].any()
    assert np.isfinite(found.moves).all()
    assert found.shortfall == pytest.approx([0.001])


def test_a_fixed_base_needs_constraints_that_can_give_way() -> None:
    with pytest.raises(ArgumentError, match="solve: `cap` must be finite where the base is fixed, got inf"):
        _kept([0.01, -0.03], 0.002, cap=np.inf)


def test_two_opposing_corners_are_met_by_base_and_flatter_delta() -> None:
    """y_0 − |y_1| ≥ m: the slope 0.03 is reduced and the base raised, in the ratio of the prices."""
    moves = _one_vertex([0.0, 0.03], 0.002, [-1.0], [1.0]).moves[0, :, 1]
    short = 0.032
    assert moves == pytest.approx([short / (1 + PRICE), -short * PRICE / (1 + PRICE)], abs=1e-8)


def test_a_slope_is_never_reduced_beyond_zero() -> None:
    """The base falls short by far more than the slope takes: the slope ends at zero, the base does the rest."""
    moves = _one_vertex([-0.1, 0.001], 0.0, [-1.0], [1.0]).moves[0, :, 1]
    assert moves == pytest.approx([0.1, -0.001], abs=1e-8)


def _random_case(seed: int) -> tuple[csr_array, np.ndarray, Constraints, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    size, morphs, count = 6, 2, 9
    chain = diags_array([2.0 * np.ones(size), -np.ones(size - 1), -np.ones(size - 1)], offsets=[0, 1, -1])
    energy = csr_array(chain @ chain + eye_array(size))
    direction = rng.normal(size=(count, 3))
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    terms = rng.normal(scale=0.02, size=(count, morphs + 1))
    low = rng.uniform(-1, 0, morphs)
    rows = Constraints(rng.integers(size, size=count), direction, terms, np.full(count, 0.002))
    return energy, np.ones(size), rows, low, rng.uniform(0.1, 1.5, morphs)


def _conic_objective(energy: csr_array, rows: Constraints, low: np.ndarray, high: np.ndarray, price: float) -> float:
    """The same programme by an interior-point solver: one slack t per constraint and morph, t ≤ low y, t ≤ high y."""
    size, count, morphs = energy.shape[0], len(rows.vertex), len(low)
    reach = np.maximum(np.abs(low), np.abs(high))
    moves = 3 * size * (morphs + 1)
    total = moves + count * morphs
    quadratic = np.zeros((total, total))
    for m in range(morphs + 1):
        worth = price if m == 0 else reach[m - 1] ** 2
        for c in range(3):
            at = (m * 3 + c) * size
            quadratic[at : at + size, at : at + size] = worth * energy.toarray()
    left, right = [], []
    for p in range(count):
        base = np.zeros(total)
        for c in range(3):
            base[c * size + rows.vertex[p]] = -rows.direction[p, c]
        base[moves + p * morphs : moves + (p + 1) * morphs] = -1.0
        left.append(base)
        right.append(rows.terms[p, 0] - rows.needed[p])
        for k in range(morphs):
            for end in (low[k], high[k]):
                row = np.zeros(total)
                row[moves + p * morphs + k] = 1.0
                for c in range(3):
                    row[((k + 1) * 3 + c) * size + rows.vertex[p]] = -end * rows.direction[p, c]
                left.append(row)
                right.append(end * rows.terms[p, k + 1])
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    solver = clarabel.DefaultSolver(
        csc_array(np.triu(quadratic)),
        np.zeros(total),
        csc_array(vstack([csr_array(row[None]) for row in left])),
        np.array(right),
        [clarabel.NonnegativeConeT(len(right))],
        settings,
    )
    return float(solver.solve().obj_val)


def _objective(energy: csr_array, solution: Solution, low: np.ndarray, high: np.ndarray, price: float) -> float:
    worth = np.concatenate([[price], np.maximum(np.abs(low), np.abs(high)) ** 2])
    return 0.5 * sum(
        worth[m] * float(np.sum(solution.moves[:, m] * (energy @ solution.moves[:, m]))) for m in range(len(worth))
    )


@pytest.mark.parametrize("seed", range(8))
def test_the_optimum_is_that_of_a_general_conic_solver(seed: int) -> None:
    energy, mass, rows, low, high = _random_case(seed)
    solution = solve(energy, mass, rows, low, high, base_price=PRICE, tolerance=1e-8, balance=1e-6, max_steps=20000)
    assert solution.settled
    ours, theirs = _objective(energy, solution, low, high, PRICE), _conic_objective(energy, rows, low, high, PRICE)
    assert ours == pytest.approx(theirs, rel=1e-4, abs=1e-10)


@pytest.mark.parametrize("seed", range(8))
def test_a_settled_solution_satisfies_the_conditions_of_optimality(seed: int) -> None:
    energy, mass, rows, low, high = _random_case(seed)
    solution = solve(energy, mass, rows, low, high, base_price=PRICE, tolerance=1e-8, balance=1e-6, max_steps=20000)
    assert solution.settled
    assert solution.shortfall.max() < 1e-7
    assert solution.stationarity < 1e-5
    assert solution.complementarity < 1e-6
    assert (solution.multipliers >= 0).all()


def test_starting_from_a_solution_takes_fewer_steps_and_ends_at_the_same_place() -> None:
    energy, mass, rows, low, high = _random_case(4)
    cold = solve(energy, mass, rows, low, high, tolerance=1e-8, balance=1e-6, max_steps=20000)
    warm = solve(
        energy, mass, rows, low, high, start=(cold.moves, cold.forces), tolerance=1e-8, balance=1e-6, max_steps=20000
    )
    assert warm.steps < cold.steps / 2
    assert np.allclose(warm.moves, cold.moves, atol=1e-6)


@pytest.mark.parametrize("steps", [1, 2, 9])
def test_steps_are_those_of_the_method_with_whole_copies(steps: int) -> None:
    """Copies kept as three numbers per term instead of one along the normal, and forces that do not lie along it."""
    energy, mass, rows, low, high = _random_case(6)
    rng = np.random.default_rng(steps)
    shape = (energy.shape[0], rows.terms.shape[1], 3)
    start = rng.normal(size=shape) * 0.01, rng.normal(size=(len(rows.vertex), *shape[1:])) * 0.01
    reach = np.maximum(np.abs(low), np.abs(high))
    units = np.concatenate([[np.sqrt(PRICE)], reach])[None, :, None]
    weight = PENALTY * mass[rows.vertex] / np.bincount(rows.vertex)[rows.vertex]
    system = energy.toarray() + np.diag(np.bincount(rows.vertex, weight, minlength=shape[0]))
    z, u = (start[0] * units)[rows.vertex], -start[1] / weight[:, None, None]
    terms, scale = rows.terms * np.concatenate([[1.0], reach]), 1 / np.sqrt(PRICE)
    for _ in range(steps):
        right = np.zeros(shape)
        np.add.at(right, rows.vertex, weight[:, None, None] * (z - u))
        x = np.linalg.solve(system, right.reshape(shape[0], -1)).reshape(shape)
        before = RELAX * x[rows.vertex] + (1 - RELAX) * z + u
        z = before.copy()
        for p, n in enumerate(rows.direction):
            y = terms[p] + before[p] @ n * np.concatenate([[scale], np.ones(len(low))])
            length = multiplier(y, scale, rows.needed[p], low / reach, high / reach)
            slopes = [slope_at(y[k + 1], length, low[k] / reach[k], high[k] / reach[k]) for k in range(len(low))]
            z[p] += length * np.outer([scale, *slopes], n)
        u = before - z
    found = solve(energy, mass, rows, low, high, base_price=PRICE, start=start, tolerance=1e-300, max_steps=steps)
    assert found.steps == steps
    assert np.allclose(found.moves, x / units, rtol=0, atol=1e-13)
    assert np.allclose(found.forces, -weight[:, None, None] * u, rtol=0, atol=1e-12)


def test_a_range_without_the_base_body_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`low/high` must be a range that holds the base body"):
        _one_vertex([0.01, 0.0], 0.002, [0.5], [1.0])


def test_contradictory_constraints_give_way_under_a_cap_instead_of_running_off() -> None:
    """One vertex between two walls 1 cm apart is asked to keep 2 cm from both."""
    rows = Constraints(
        np.array([0, 0]), np.array([[0, 1.0, 0], [0, -1.0, 0]]), np.array([[0.005], [0.005]]), np.array([0.02, 0.02])
    )
    none = np.zeros(0)
    solution = solve(csr_array(np.array([[1.0]])), np.array([1.0]), rows, none, none, cap=0.1)
    assert np.abs(solution.moves).max() < 1e-3
    assert solution.shortfall == pytest.approx([0.015, 0.015], abs=1e-3)
