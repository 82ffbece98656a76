"""Compiled steps of the alternating method of multipliers for clearance programmes.

Every constraint looks at one vertex along one direction n: y = f + n · move, one number per term (base, then morphs),
and asks y_0 + Σ_k min(low_k y_k, high_k y_k) ≥ needed. The left side is concave, so what satisfies it is convex, and
the nearest such y is found by one multiplier: the left side after moving by l is concave and rising in l, so Newton's
method from 0 reaches the root without overshooting, in as many steps as there are kinks between.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit

NEWTON_STEPS = 200
EXACT = 1e-13


@jit
@no_type_check
def multiplier(y: Any, scale: float, needed: float, low: Any, high: Any) -> float:
    """How far to move along the gradient so that the constraint holds; 0 where it does. `scale`: weight of y_0.

    Infinite where it cannot hold, since y_0 has no weight.
    """
    length = 0.0
    for _ in range(NEWTON_STEPS):
        value = y[0] + length * scale * scale
        slope = scale * scale
        for k in range(len(low)):
            if y[k + 1] + length * low[k] > 0.0:
                value += low[k] * (y[k + 1] + length * low[k])
                slope += low[k] * low[k]
            elif y[k + 1] + length * high[k] < 0.0:
                value += high[k] * (y[k + 1] + length * high[k])
                slope += high[k] * high[k]
        if value >= needed - EXACT:
            break
        if slope == 0.0:  # the base is fixed, and no morph moves it here any more: nothing can be gained
            return np.inf
        length += (needed - value) / slope
    return length


@jit
@no_type_check
def slope_at(y: float, length: float, low: float, high: float) -> float:
    """The supergradient of min(low y, high y) that the projection moves along."""
    if y + length * low > 0.0:
        return low
    if y + length * high < 0.0:
        return high
    return -y / length if length > 0.0 else 0.0


@jit
@no_type_check
def step(
    x: Any, mean: Any, total: Any, vertex: Any, n: Any, f: Any, needed: Any, low: Any, high: Any, scale: float,
    cap: Any, relax: float, weight: Any, off: Any, pull: Any, aside: Any, shares: Any, lengths: Any, right: Any,
    forces: Any, imbalance: Any,
) -> float:  # fmt: skip
    """One projection of all copies; returns the largest distance of a copy from its vertex.

    A copy of vertex i is mean[i] + off · n + share · aside: projections move it along n alone, so the copies of one
    differ by so much along their own directions, and by what they started with, which fades. `mean` is the relaxed
    position of the vertex, (G, M, 3). What pulls a copy back is along n, too: pull · n.

    Updates `mean`, `off`, `pull` (P, M) and the multipliers, and gathers per vertex, whose weights come to `total`, and
    term, (G, M, 3): the next right-hand side into `right`, what the constraints pull with into `forces`, and how far
    that is from balancing the energy's gradient at x into `imbalance`. `shares` are those of `aside` in the copy after
    the step, and in the imbalance.
    """
    amount = x.shape[1]
    y, move = np.zeros(amount), np.zeros(amount)
    primal = 0.0
    for i in range(len(x)):
        for m in range(amount):
            for c in range(3):
                before = mean[i, m, c]
                mean[i, m, c] = relax * x[i, m, c] + (1.0 - relax) * before
                right[i, m, c], forces[i, m, c] = total[i] * mean[i, m, c], 0.0
                imbalance[i, m, c] = total[i] * (before - x[i, m, c])
    for p in range(len(vertex)):
        i, w = vertex[p], weight[p]
        nx, ny, nz = n[p, 0], n[p, 1], n[p, 2]
        own = nx * nx + ny * ny + nz * nz  # 1, or 0 where skin has no normal
        for m in range(amount):
            along = nx * mean[i, m, 0] + ny * mean[i, m, 1] + nz * mean[i, m, 2]
            along += own * ((1.0 - relax) * off[p, m] + pull[p, m])
            y[m] = f[p, m] + (along * scale if m == 0 else along)
        length = min(multiplier(y, scale, needed[p], low, high), cap[p])
        lengths[p] = length
        for m in range(amount):
            move[m] = length * (scale if m == 0 else slope_at(y[m], length, low[m - 1], high[m - 1]))
        for m in range(amount):
            old, force = off[p, m], move[m]
            new = (1.0 - relax) * old + pull[p, m] + force
            unbalanced, ahead = w * (old - pull[p, m] - force), w * (new + force)
            off[p, m], pull[p, m] = new, -force
            for c in range(3):
                rest = shares[0] * aside[p, m, c] if len(aside) > 0 else 0.0
                fades = shares[1] * aside[p, m, c] if len(aside) > 0 else 0.0
                right[i, m, c] += ahead * n[p, c] + w * rest
                forces[i, m, c] += w * force * n[p, c]
                imbalance[i, m, c] += unbalanced * n[p, c] + w * fades
                primal = max(primal, abs(x[i, m, c] - mean[i, m, c] - new * n[p, c] - rest))
    return primal


@jit
@no_type_check
def values_of(x: Any, vertex: Any, n: Any, f: Any, low: Any, high: Any, scale: float) -> Any:
    """Left side of every constraint at x, (P,)."""
    out = np.zeros(len(vertex))
    for p in range(len(vertex)):
        i = vertex[p]
        for m in range(x.shape[1]):
            along = n[p, 0] * x[i, m, 0] + n[p, 1] * x[i, m, 1] + n[p, 2] * x[i, m, 2]
            if m == 0:
                out[p] += f[p, 0] + scale * along
            else:
                y = f[p, m] + along
                out[p] += min(low[m - 1] * y, high[m - 1] * y)
    return out
