"""Compiled ray casting, watertight: a ray through a shared side or corner hits at least one of the triangles there.

Triangles are tested in a sheared frame in which the ray is an axis, so that both triangles at a side evaluate the very
same products with opposite signs [Woop2013]; boxes are widened by more than the rounding of that frame.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit
from dressform.mesh.tree_kernels import STACK

PAD = 1e-14  # relative widening of boxes; the frame rounds at a few 1e-16
HUGE = 1e300  # stands for 1/0: times 0 it stays 0, where infinity would not


@jit
@no_type_check
def hit_slot(
    slots: Any, s: int, kx: int, ky: int, kz: int, sx: float, sy: float, sz: float, ox: float, oy: float, oz: float
) -> float:
    """Distance along the ray at which it meets slot s, infinite where it does not."""
    az, bz, cz = slots[s, kz] - oz, slots[s, 3 + kz] - oz, slots[s, 6 + kz] - oz
    ax, ay = slots[s, kx] - ox - sx * az, slots[s, ky] - oy - sy * az
    bx, by = slots[s, 3 + kx] - ox - sx * bz, slots[s, 3 + ky] - oy - sy * bz
    cx, cy = slots[s, 6 + kx] - ox - sx * cz, slots[s, 6 + ky] - oy - sy * cz
    u, v, w = cx * by - cy * bx, ax * cy - ay * cx, bx * ay - by * ax
    if (u < 0.0 or v < 0.0 or w < 0.0) and (u > 0.0 or v > 0.0 or w > 0.0):
        return np.inf
    total = u + v + w
    if total == 0.0:
        return np.inf
    return (u * az + v * bz + w * cz) * sz / total


@jit
@no_type_check
def enter(
    bounds: Any, node: int, ix: float, iy: float, iz: float, lx: float, ly: float, lz: float, hx: float, hy: float,
    hz: float, near: float, far: float,
) -> float:  # fmt: skip
    """Distance at which the ray enters the box of a node, infinite where it misses; l and h are origin ± padding."""
    x0, x1 = (bounds[node, 0] - hx) * ix, (bounds[node, 3] - lx) * ix
    y0, y1 = (bounds[node, 1] - hy) * iy, (bounds[node, 4] - ly) * iy
    z0, z1 = (bounds[node, 2] - hz) * iz, (bounds[node, 5] - lz) * iz
    start = max(min(x0, x1), min(y0, y1), min(z0, z1), near)
    end = min(max(x0, x1), max(y0, y1), max(z0, z1), far)
    return start if start <= end * (1.0 + PAD) else np.inf


@jit
@no_type_check
def cast(  # noqa: PLR0915 - one loop: every inner call with an array costs two atomic counts
    slots: Any, bounds: Any, first: Any, count: Any, origins: Any, directions: Any, near: Any, far: Any, guess: Any,
    any_hit: bool,
) -> Any:  # fmt: skip
    """Slot (Q,) and distance (Q,) of the first hit in [near, far], or of any hit; slot -1 where there is none.

    `guess` gives a slot per ray to test before all others, -1 for none.
    """
    found = np.full(len(origins), -1)
    distances = np.full(len(origins), np.inf)
    stack = np.zeros(STACK, dtype=np.int64)
    keys = np.zeros(STACK)
    extent = 0.0
    for k in range(6):
        extent = max(extent, abs(bounds[0, k]))
    for q in range(len(origins)):
        dx, dy, dz = directions[q, 0], directions[q, 1], directions[q, 2]
        kz = 2
        if abs(dx) >= abs(dy) and abs(dx) >= abs(dz):
            kz = 0
        elif abs(dy) >= abs(dz):
            kz = 1
        kx, ky = (kz + 1) % 3, (kz + 2) % 3
        ox, oy, oz = origins[q, kx], origins[q, ky], origins[q, kz]
        sz = 1.0 / directions[q, kz]
        sx, sy = directions[q, kx] * sz, directions[q, ky] * sz
        best, slot = far[q], -1
        low = near[q]
        if guess[q] >= 0:
            t = hit_slot(slots, guess[q], kx, ky, kz, sx, sy, sz, ox, oy, oz)
            if low <= t <= best:
                best, slot = t, guess[q]
                if any_hit:
                    found[q], distances[q] = slot, best
                    continue
        ix = 1.0 / dx if abs(dx) > 1.0 / HUGE else HUGE
        iy = 1.0 / dy if abs(dy) > 1.0 / HUGE else HUGE
        iz = 1.0 / dz if abs(dz) > 1.0 / HUGE else HUGE
        px, py, pz = origins[q, 0], origins[q, 1], origins[q, 2]
        pad = PAD * (extent + abs(px) + abs(py) + abs(pz))
        lx, ly, lz, hx, hy, hz = px - pad, py - pad, pz - pad, px + pad, py + pad, pz + pad
        top = 0
        entry = enter(bounds, 0, ix, iy, iz, lx, ly, lz, hx, hy, hz, low, best)
        if entry < np.inf:
            stack[0], keys[0] = 0, entry
            top = 1
        while top > 0:
            top -= 1
            if keys[top] > best:
                continue
            node = stack[top]
            at = first[node]
            if count[node] > 0:
                for s in range(at, at + count[node]):
                    t = hit_slot(slots, s, kx, ky, kz, sx, sy, sz, ox, oy, oz)
                    if low <= t <= best and (t < best or slot < 0):
                        best, slot = t, s
                if any_hit and slot >= 0:
                    break
                continue
            left = enter(bounds, at, ix, iy, iz, lx, ly, lz, hx, hy, hz, low, best)
            right = enter(bounds, at + 1, ix, iy, iz, lx, ly, lz, hx, hy, hz, low, best)
            front = at if left <= right else at + 1
            close, behind = min(left, right), max(left, right)
            if behind < np.inf:
                stack[top], keys[top] = at + at + 1 - front, behind
                top += 1
            if close < np.inf:
                stack[top], keys[top] = front, close
                top += 1
        if slot >= 0:
            found[q], distances[q] = slot, best
    return found, distances
