"""Compiled loops over pairs of points: spreading points evenly, and how deep skin lies in a hollow."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit


@jit
@no_type_check
def farthest_points(points: Any, count: Any, start: Any) -> Any:
    """Indices of `count` points: each the farthest from all that were taken before it, from `start` on, (count,)."""
    taken = np.zeros(count, dtype=np.int64)
    away = np.full(len(points), np.inf)
    last = start
    for place in range(count):
        taken[place] = last
        far, after = -1.0, 0
        for i in range(len(points)):
            x = points[i, 0] - points[last, 0]
            y = points[i, 1] - points[last, 1]
            z = points[i, 2] - points[last, 2]
            away[i] = min(away[i], x * x + y * y + z * z)
            if away[i] > far:
                far, after = away[i], i
        last = after
    return taken


@jit
@no_type_check
def hollow_depths(feet: Any, normals: Any, skin: Any, skin_normals: Any, reach: Any, radius: Any, facing: Any) -> Any:
    """How far skin within `reach` enters a ball of `radius` on the tangent plane at each foot, (N,).

    Skin counts where its normal and the foot's make at least the cosine `facing`.
    """
    depths = np.zeros(len(feet))
    for i in range(len(feet)):
        nx, ny, nz = normals[i, 0], normals[i, 1], normals[i, 2]
        deepest = 0.0
        for j in range(len(skin)):
            x, y, z = skin[j, 0] - feet[i, 0], skin[j, 1] - feet[i, 1], skin[j, 2] - feet[i, 2]
            away = x * x + y * y + z * z
            if away >= reach * reach:
                continue
            if nx * skin_normals[j, 0] + ny * skin_normals[j, 1] + nz * skin_normals[j, 2] <= facing:
                continue
            deepest = max(deepest, nx * x + ny * y + nz * z - away / (2.0 * radius))
        depths[i] = deepest
    return depths


@jit
@no_type_check
def overhangs(
    feet: Any, normals: Any, skin: Any, skin_normals: Any, reach: Any, aside: Any, most: Any, facing: Any
) -> Any:
    """How far skin above each foot stands out horizontally beyond it, within `reach` and `aside`, (N,).

    Skin that stands out more than `most` belongs to another limb.
    """
    depths = np.zeros(len(feet))
    for i in range(len(feet)):
        level = np.hypot(normals[i, 0], normals[i, 2])
        if level < facing:
            continue
        nx, nz = normals[i, 0] / level, normals[i, 2] / level
        farthest = 0.0
        for j in range(len(skin)):
            x, y, z = skin[j, 0] - feet[i, 0], skin[j, 1] - feet[i, 1], skin[j, 2] - feet[i, 2]
            if y <= 0.0 or y >= reach or abs(nx * z - nz * x) >= aside:
                continue
            if nx * skin_normals[j, 0] + nz * skin_normals[j, 2] <= facing:
                continue
            out = nx * x + nz * z
            if out <= most:
                farthest = max(farthest, out)
        depths[i] = farthest
    return depths
