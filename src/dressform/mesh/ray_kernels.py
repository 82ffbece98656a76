"""Compiled ray casting, watertight: a ray through a shared side or corner hits at least one of the triangles there.

Triangles are tested in a sheared frame in which the ray is an axis, so that both triangles at a side evaluate the very
same products with opposite signs [Woop2013]; boxes are widened by more than the rounding of that frame.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import inlined, jit
from dressform.mesh.tree_kernels import STACK

PAD = 1e-14  # relative widening of boxes; the frame rounds at a few 1e-16
HUGE = 1e300  # stands for 1/0: times 0 it stays 0, where infinity would not


@jit
@no_type_check
def hit(
    az: float, bz: float, cz: float, ax: float, bx: float, cx: float, ay: float, by: float, cy: float, sx: float,
    sy: float, sz: float,
) -> float:  # fmt: skip
    """Distance along the ray at which it meets a triangle, infinite where it does not; z is the ray's main axis."""
    ax, ay, bx, by, cx, cy = ax - sx * az, ay - sy * az, bx - sx * bz, by - sy * bz, cx - sx * cz, cy - sy * cz
    u, v, w = cx * by - cy * bx, ax * cy - ay * cx, bx * ay - by * ax
    if (u < 0.0 or v < 0.0 or w < 0.0) and (u > 0.0 or v > 0.0 or w > 0.0):
        return np.inf
    total = u + v + w
    if total == 0.0:
        return np.inf
    return (u * az + v * bz + w * cz) * sz / total


@jit
@no_type_check
def enter(x0: float, x1: float, y0: float, y1: float, z0: float, z1: float, near: float, far: float) -> float:
    """Where a ray enters a box, given where it meets its six planes; infinite where it misses."""
    start = max(max(min(x0, x1), min(y0, y1)), max(min(z0, z1), near))
    end = min(min(max(x0, x1), max(y0, y1)), min(max(z0, z1), far))
    return start if start <= end * (1.0 + PAD) else np.inf


@jit
@no_type_check
def extent_of(bounds: Any) -> float:
    """The largest coordinate of a tree, metres."""
    extent = 0.0
    for k in range(6):
        extent = max(extent, abs(bounds[0, k]))
    return extent


@inlined
@no_type_check
def meet(
    slots: Any, bounds: Any, first: Any, count: Any, px: float, py: float, pz: float, dx: float, dy: float, dz: float,
    low: float, far: float, guess: int, any_hit: bool, extent: float, stack: Any, keys: Any,
) -> Any:  # fmt: skip
    """Slot and distance of the first hit of one ray in [low, far], or of any hit; slot -1 where there is none.

    `guess` is a slot to test before all others, -1 for none; `extent` comes from `extent_of`; `stack` and `keys` are
    room for `STACK` numbers.
    """
    kz = 2
    if abs(dx) >= abs(dy) and abs(dx) >= abs(dz):
        kz = 0
    elif abs(dy) >= abs(dz):
        kz = 1
    kx, ky = (kz + 1) % 3, (kz + 2) % 3
    ox, oy, oz = (px, py, pz) if kz == 2 else ((py, pz, px) if kz == 0 else (pz, px, py))
    ax, ay, az = (dx, dy, dz) if kz == 2 else ((dy, dz, dx) if kz == 0 else (dz, dx, dy))
    sz = 1.0 / az
    sx, sy = ax * sz, ay * sz
    ix = 1.0 / dx if abs(dx) > 1.0 / HUGE else HUGE
    iy = 1.0 / dy if abs(dy) > 1.0 / HUGE else HUGE
    iz = 1.0 / dz if abs(dz) > 1.0 / HUGE else HUGE
    pad = PAD * (extent + abs(px) + abs(py) + abs(pz))
    lx, ly, lz, hx, hy, hz = px - pad, py - pad, pz - pad, px + pad, py + pad, pz + pad
    best, slot = far, -1
    # the guess is a leaf of its own, laid on top of the root
    begin, end = (guess, guess + 1) if guess >= 0 else (0, 0)
    stack[0], keys[0] = 0, low
    top = 1
    while True:
        for s in range(begin, end):
            t = hit(
                slots[s, kz] - oz, slots[s, 3 + kz] - oz, slots[s, 6 + kz] - oz,
                slots[s, kx] - ox, slots[s, 3 + kx] - ox, slots[s, 6 + kx] - ox,
                slots[s, ky] - oy, slots[s, 3 + ky] - oy, slots[s, 6 + ky] - oy, sx, sy, sz,
            )  # fmt: skip
            if low <= t <= best and (t < best or slot < 0) and t < np.inf:
                best, slot = t, s
        if any_hit and slot >= 0:
            break
        begin = end
        while top > 0:
            top -= 1
            if keys[top] > best:
                continue
            at = first[stack[top]]
            leaf = count[stack[top]]
            if leaf > 0:
                begin, end = at, at + leaf
                break
            after = at + 1
            left = enter(
                (bounds[at, 0] - hx) * ix, (bounds[at, 3] - lx) * ix,
                (bounds[at, 1] - hy) * iy, (bounds[at, 4] - ly) * iy,
                (bounds[at, 2] - hz) * iz, (bounds[at, 5] - lz) * iz, low, best,
            )  # fmt: skip
            right = enter(
                (bounds[after, 0] - hx) * ix, (bounds[after, 3] - lx) * ix,
                (bounds[after, 1] - hy) * iy, (bounds[after, 4] - ly) * iy,
                (bounds[after, 2] - hz) * iz, (bounds[after, 5] - lz) * iz, low, best,
            )  # fmt: skip
            front = at if left <= right else after
            close, behind = min(left, right), max(left, right)
            if behind < np.inf:
                stack[top], keys[top] = at + after - front, behind
                top += 1
            if close < np.inf:
                stack[top], keys[top] = front, close
                top += 1
        if begin == end:
            break
    return slot, best if slot >= 0 else np.inf


@jit
@no_type_check
def cast(
    slots: Any, bounds: Any, first: Any, count: Any, origins: Any, directions: Any, near: Any, far: Any, guess: Any,
    any_hit: bool,
) -> Any:  # fmt: skip
    """`meet` for many rays: slots and distances, (Q,)."""
    found, distances = np.full(len(origins), -1), np.full(len(origins), np.inf)
    stack, keys = np.zeros(STACK, dtype=np.int64), np.zeros(STACK)
    extent = extent_of(bounds)
    for q in range(len(origins)):
        found[q], distances[q] = meet(
            slots, bounds, first, count, origins[q, 0], origins[q, 1], origins[q, 2], directions[q, 0],
            directions[q, 1], directions[q, 2], near[q], far[q], guess[q], any_hit, extent, stack, keys,
        )  # fmt: skip
    return found, distances
