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
    x = np.zeros(shape) if start is None else start[0] * units
    z, u, lengths = x[rows.vertex], np.zeros((len(terms), *shape[1:])), np.zeros(len(terms))
    right, forces, imbalance = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    penalty, settled, taken = PENALTY, False, 0
    weight, factor = _penalised(energy, mass, rows.vertex, penalty)
    if start is not None:
        u = -start[1] / weight[:, None, None]
    np.add.at(right, rows.vertex, weight[:, None, None] * (z - u))
    limits = cap * mass[rows.vertex] / weight
    for taken in range(1, max_steps + 1):
        x = factor.solve(right.reshape(shape[0], -1)).reshape(shape)
        far = step(
            x, rows.vertex, rows.direction, terms, rows.needed, low, high, scale, limits, RELAX,
            weight, z, u, lengths, right, forces, imbalance,
        ) / tolerance  # fmt: skip
        unbalanced = _share(imbalance, forces) / balance
        settled = max(far, unbalanced) < 1.0
        if settled:
            break
        if taken % LOOK_EVERY == 0 and max(far, unbalanced) > BEHIND * min(far, unbalanced):
            change = 2.0 if far > unbalanced else 0.5
            penalty, u, limits = penalty * change, u / change, limits / change
            weight, factor = _penalised(energy, mass, rows.vertex, penalty)
            right[:] = 0.0
            np.add.at(right, rows.vertex, weight[:, None, None] * (z - u))
    values = values_of(x, rows.vertex, rows.direction, terms, low, high, scale)
    pull = (energy @ x.reshape(shape[0], -1)).reshape(shape)
    priced = lengths > PRICED * float(lengths.max(initial=0.0))
    return Solution(
        x / units,
        weight * lengths,
        -weight[:, None, None] * u,
        0.5 * float(np.sum(x * pull)),
        np.maximum(rows.needed - values, 0.0),
        _share(pull - forces, forces),
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
) -> tuple[Float[np.ndarray, " P"], Factor]:
    """Weight of each copy, and the factor of the energy with all copies' weights on the diagonal.

    The copies of a vertex share one weight, so that a vertex with a hundred constraints is held no tighter than one
    with a single constraint; otherwise the method stops far from the optimum.
    """
    copies = np.bincount(vertex, minlength=energy.shape[0])
    weight = penalty * mass[vertex] / copies[vertex]
    return weight, Factor(energy + diags_array(np.bincount(vertex, weight, minlength=energy.shape[0])))
