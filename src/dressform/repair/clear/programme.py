"""The convex programme of a repair: least change, smooth in the change, that keeps every clearance over the range."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array, diags_array

from dressform.errors import ArgumentError
from dressform.mesh.factor import Factor
from dressform.repair.clear.programme_kernels import step, values_of

TOLERANCE = 2e-5  # metres; copies agree with the cloth to this
BALANCE_TOLERANCE = 5e-3  # forces balance the energy's gradient to this share of the largest force
MAX_STEPS = 600
PENALTY = 200.0  # weight of all copies of a vertex together against its mass; 20 takes half as long again
RELAX = 1.6  # over-relaxation
PRICED = 1e-3  # constraints with less than this share of the largest multiplier count as having no price
LOOK_EVERY = 40  # steps between looks at which of the two residuals is behind
BEHIND = 5.0  # a residual this many times farther from its tolerance than the other changes the penalty


@dataclass(frozen=True)
class Constraints:
    """`y_0 + Σ_k min(low_k y_k, high_k y_k) ≥ needed` with `y = terms + direction · move[vertex]`, one per row.

    Attributes:
        vertex: The cloth vertex that each looks at, (P,).
        direction: Unit vector from body to cloth, (P, 3).
        terms: Difference of cloth and body along it before the repair, base then morphs, (P, M), metres.
        needed: The clearance that must remain, (P,), metres.
    """

    vertex: Int[np.ndarray, " P"]
    direction: Float[np.ndarray, "P 3"]
    terms: Float[np.ndarray, "P M"]
    needed: Float[np.ndarray, " P"]


@dataclass(frozen=True)
class Solution:
    """Moves, and how well they satisfy the conditions of Karush, Kuhn and Tucker.

    Attributes:
        moves: Base move and one delta move per morph, (G, M, 3), metres.
        multipliers: Price of each constraint in the energy's unit, (P,), never negative.
        forces: What each constraint pulls its vertex's terms with, in the scaled unknowns, (P, M, 3).
        energy: ½ Σ_m price_m move_mᵀ H move_m.
        shortfall: By how much each constraint fails at `moves`, 0 where it holds, (P,), metres.
        stationarity: Largest |H x − Σ λ ∇| over the largest |Σ λ ∇|.
        complementarity: Largest distance from its bound of a constraint that has a price, metres.
        steps: Steps taken.
        settled: Whether both residuals fell below their tolerances.
    """

    moves: Float[np.ndarray, "G M 3"]
    multipliers: Float[np.ndarray, " P"]
    forces: Float[np.ndarray, "P M 3"]
    energy: float
    shortfall: Float[np.ndarray, " P"]
    stationarity: float
    complementarity: float
    steps: int
    settled: bool


def solve(
    energy: csr_array,
    mass: Float[np.ndarray, " G"],
    rows: Constraints,
    low: Float[np.ndarray, " K"],
    high: Float[np.ndarray, " K"],
    *,
    base_price: float = 1.0,
    cap: float | Float[np.ndarray, " P"] = np.inf,
    start: tuple[Float[np.ndarray, "G M 3"], Float[np.ndarray, "P M 3"]] | None = None,
    tolerance: float = TOLERANCE,
    balance: float = BALANCE_TOLERANCE,
    max_steps: int = MAX_STEPS,
) -> Solution:
    """Minimise ½ Σ_m price_m move_mᵀ H move_m subject to the constraints.

    Args:
        energy: H, symmetric positive definite, (G, G).
        mass: Lumped area of each vertex, (G,); the scale of the penalty.
        rows: The constraints.
        low: Lowest weight of each morph, (K,), at most 0.
        high: Highest weight of each morph, (K,), at least 0. With 0 between them, Newton's method in the projection
            never overshoots.
        base_price: Price of the base move against delta moves; infinite for a base that does not move. Delta moves
            are priced by the weight's reach squared, so that the distance moved by the cloth counts.
        cap: Largest pull of one constraint, as the distance by which it alone would move its vertex against its mass,
            metres; one for all or one for each. A finite one makes constraints that contradict each other give way
            instead of driving the cloth away.
        start: Moves (G, M, 3) and forces (P, M, 3) to start from; 0 by default.
        tolerance: Largest distance between a copy and its vertex at the end, metres.
        balance: Largest imbalance of forces at the end, as a share of the largest force.
        max_steps: Most steps to run.

    Raises:
        ArgumentError: 0 is not in the range of a morph, or the base is fixed and `cap` infinite.

    Method: alternating directions with over-relaxation, one copy of a vertex per constraint [Boyd2011]; every step is
    one solve with a kept factor for all columns and one projection, exact, per constraint.
    Proof: tests/repair/test_programme.py, against closed forms and a general conic solver
    """
    reach = np.maximum(np.maximum(np.abs(low), np.abs(high)), 1e-9)
    scale = 1.0 / np.sqrt(base_price)  # 0 for a base that does not move: its column stays 0 throughout
    terms = rows.terms * np.concatenate([[1.0], reach])
    low, high = low / reach, high / reach
    shape = (energy.shape[0], terms.shape[1], 3)
    if (low > 0).any() or (high < 0).any():
        raise ArgumentError.of(
            "solve",
            "low/high",
            "a range that holds the base body",
            f"{low.tolist()} to {high.tolist()}",
            "Widen it to 0",
        )
    if scale == 0 and not np.isfinite(cap).all():
        rule = "finite where the base is fixed"
        raise ArgumentError.of("solve", "cap", rule, f"{np.max(cap):g}", "Let what cannot hold give way")
    units = np.concatenate([[1.0 / scale if scale else 1.0], reach])[None, :, None]
    order = np.argsort(rows.vertex, kind="stable")  # what a vertex gathers then stays in the nearest cache
    vertex, n, terms, needed = rows.vertex[order], rows.direction[order], terms[order], rows.needed[order]
    mean = np.zeros(shape) if start is None else start[0] * units  # steps change it
    lengths, off, pull = np.zeros(len(terms)), np.zeros(terms.shape), np.zeros(terms.shape)
    penalty, settled, taken, x = PENALTY, False, 0, mean
    weight, total, factor = _penalised(energy, mass, vertex, penalty)
    aside, share = np.zeros((0, *shape[1:])), 0.0
    if start is not None:
        aside = -start[1][order] / weight[:, None, None]
        pull = np.einsum("pmc,pc->pm", aside, n) / np.maximum((n**2).sum(axis=1), np.finfo(float).tiny)[:, None]
        aside -= pull[:, :, None] * n[:, None]
    right, forces, imbalance = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    _gather(right, vertex, n, weight, total, mean, -pull, -aside)
    limits = (cap * mass[rows.vertex])[order] / weight
    for taken in range(1, max_steps + 1):
        x = factor.solve(right.reshape(shape[0], -1)).reshape(shape)
        shares = (1.0, -1.0) if taken == 1 else (share * (1.0 - RELAX), share)
        share = shares[0]
        far = step(
            x, mean, total, vertex, n, terms, needed, low, high, scale, limits, RELAX, weight, off, pull, aside,
            shares, lengths, right, forces, imbalance,
        ) / tolerance  # fmt: skip
        unbalanced = _share(imbalance, forces) / balance
        settled = max(far, unbalanced) < 1.0
        if settled:
            break
        if taken % LOOK_EVERY == 0 and max(far, unbalanced) > BEHIND * min(far, unbalanced):
            change = 2.0 if far > unbalanced else 0.5
            penalty, pull, limits = penalty * change, pull / change, limits / change
            weight, total, factor = _penalised(energy, mass, vertex, penalty)
            _gather(right, vertex, n, weight, total, mean, off - pull, share * aside)
    back = np.argsort(order)
    lengths, pulls = lengths[back], (-weight[:, None] * pull)[back]
    weight = weight[back]
    values = values_of(x, rows.vertex, rows.direction, terms[back], low, high, scale)
    gradient = (energy @ x.reshape(shape[0], -1)).reshape(shape)
    priced = lengths > PRICED * float(lengths.max(initial=0.0))
    return Solution(
        x / units,
        weight * lengths,
        pulls[:, :, None] * rows.direction[:, None],
        0.5 * float(np.sum(x * gradient)),
        np.maximum(rows.needed - values, 0.0),
        _share(gradient - forces, forces),
        float(np.abs(values - rows.needed)[priced].max()) if priced.any() else 0.0,
        taken,
        settled,
    )


def _share(part: Float[np.ndarray, "G M 3"], whole: Float[np.ndarray, "G M 3"]) -> float:
    """Largest entry of one over the largest of the other, 0 where both vanish."""
    most = float(np.abs(whole).max(initial=0.0))
    least = float(np.abs(part).max(initial=0.0))
    return least / most if most > 0 else float(least > 0)


def _penalised(
    energy: csr_array, mass: Float[np.ndarray, " G"], vertex: Int[np.ndarray, " P"], penalty: float
) -> tuple[Float[np.ndarray, " P"], Float[np.ndarray, " G"], Factor]:
    """Weight of each copy, of all of each vertex, and the factor of the energy with the latter on the diagonal.

    The copies of a vertex share one weight, so that a vertex with a hundred constraints is held no tighter than one
    with a single constraint; otherwise the method stops far from the optimum.
    """
    copies = np.bincount(vertex, minlength=energy.shape[0])
    weight = penalty * mass[vertex] / copies[vertex]
    total = np.bincount(vertex, weight, minlength=energy.shape[0])
    return weight, total, Factor(energy + diags_array(total))


def _gather(
    right: Float[np.ndarray, "G M 3"],
    vertex: Int[np.ndarray, " P"],
    n: Float[np.ndarray, "P 3"],
    weight: Float[np.ndarray, " P"],
    total: Float[np.ndarray, " G"],
    mean: Float[np.ndarray, "G M 3"],
    along: Float[np.ndarray, "P M"],
    aside: Float[np.ndarray, "_ M 3"],
) -> None:
    """Write into `right` each vertex's mean, times all weights, and what its copies have along n and `aside`."""
    np.multiply(total[:, None, None], mean, out=right)
    spread = csr_array((weight, vertex, np.arange(len(vertex) + 1)), shape=(len(vertex), len(total))).T
    for c in range(3):
        right[:, :, c] += spread @ (n[:, c, None] * along + (aside[:, :, c] if len(aside) else 0.0))
