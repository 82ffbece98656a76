"""The convex programme: how much of other joint weights each vertex takes, as little and as evenly as can be.

At a stance and a shape the place of a vertex is linear in its joint weights. So with a share t of other weights it
stands at x₀ + t (x₁ − x₀), and a demand to keep a distance along a fixed direction is b ≤ d t.
"""

import numpy as np
from jaxtyping import Float
from scipy.sparse import csr_array, diags_array

from dressform.mesh.factor import Factor

MOST_STEPS = 40
SETTLED = 1e-6
"""A step that moves no share by more than this is the last."""
SHORTEST_STEP = 2.0**-10


def least_shares(
    stiffness: csr_array,
    mass: Float[np.ndarray, " N"],
    demands: tuple[Float[np.ndarray, "R N"], Float[np.ndarray, "R N"]],
    *,
    smooth: float,
    price: float,
) -> Float[np.ndarray, " N"]:
    """Minimise ½ tᵀ(M + s² K) t + ½ p Σ_rv m_v max(0, b_rv − d_rv t_v)² over 0 ≤ t ≤ 1, (N,).

    Convex and once differentiable; solved by projected Newton steps: of the vertices at a bound those stay there whose
    slope points outward, the others take the Newton step, shortened until the sum falls [Bertsekas1982].

    Args:
        stiffness: K, the Laplacian along the cloth, positive semidefinite, (N, N).
        mass: Area of each vertex, m_v, (N,), m².
        demands: b and d, metres; a demand that is met whatever the share has b ≤ min(0, d).
        smooth: s, metres: shares do not change much over less than this.
        price: p: what falling short costs, 1/m².

    Proof: tests/repair/joints/test_shares.py
    """
    lacks, gains = demands
    energy = csr_array(diags_array(mass) + smooth**2 * stiffness)

    def short(shares: Float[np.ndarray, " N"]) -> Float[np.ndarray, "R N"]:
        return np.maximum(lacks - gains * shares, 0.0)

    def total(shares: Float[np.ndarray, " N"]) -> float:
        return float(0.5 * shares @ (energy @ shares) + 0.5 * price * (mass * short(shares) ** 2).sum())

    shares = np.zeros(len(mass))
    for _ in range(MOST_STEPS):
        left = short(shares)
        slope = energy @ shares - price * mass * (gains * left).sum(axis=0)
        free = ~(((shares <= 0.0) & (slope >= 0.0)) | ((shares >= 1.0) & (slope <= 0.0)))
        if not free.any():
            break
        curvature = price * mass * (gains**2 * (left > 0.0)).sum(axis=0)
        chosen = np.flatnonzero(free)
        step = np.zeros(len(mass))
        step[chosen] = -Factor((energy + diags_array(curvature))[chosen][:, chosen]).solve(slope[chosen][:, None])[:, 0]
        length, before = 1.0, total(shares)
        new = np.clip(shares + step, 0.0, 1.0)
        while total(new) > before and length > SHORTEST_STEP:
            length /= 2.0
            new = np.clip(shares + length * step, 0.0, 1.0)
        moved = float(np.abs(new - shares).max())
        if total(new) > before:
            break
        shares = new
        if moved < SETTLED:
            break
    return shares
