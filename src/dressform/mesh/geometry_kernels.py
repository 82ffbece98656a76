"""Compiled loops behind `geometry.py`."""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit

SLIVER = 1e-8  # twice the area over the longest edge squared: below it a triangle has no usable normal


@jit
@no_type_check
def dot(a: Any, b: Any) -> float:
    """a · b."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@jit
@no_type_check
def unit_normal(
    ax: float, ay: float, az: float, bx: float, by: float, bz: float, cx: float, cy: float, cz: float
) -> Any:
    """Unit normal of a triangle and twice its area; a zero normal where it is degenerate."""
    ux, uy, uz = bx - ax, by - ay, bz - az
    vx, vy, vz = cx - ax, cy - ay, cz - az
    wx, wy, wz = vx - ux, vy - uy, vz - uz
    nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    longest = max(ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz, wx * wx + wy * wy + wz * wz)
    double_area = math.sqrt(nx * nx + ny * ny + nz * nz)
    if double_area <= SLIVER * longest:
        return 0.0, 0.0, 0.0, double_area
    scale = 1.0 / double_area
    return nx * scale, ny * scale, nz * scale, double_area


@jit
@no_type_check
def normals_and_areas(vertices: Any, faces: Any) -> Any:
    """Unit normal (F, 3) and area (F,) of every triangle."""
    normals = np.zeros((len(faces), 3))
    areas = np.zeros(len(faces))
    for f in range(len(faces)):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        nx, ny, nz, double_area = unit_normal(
            vertices[a, 0], vertices[a, 1], vertices[a, 2],
            vertices[b, 0], vertices[b, 1], vertices[b, 2],
            vertices[c, 0], vertices[c, 1], vertices[c, 2],
        )  # fmt: skip
        normals[f, 0], normals[f, 1], normals[f, 2] = nx, ny, nz
        areas[f] = 0.5 * double_area
    return normals, areas


@jit
@no_type_check
def angle_weighted_sums(vertices: Any, faces: Any, normals: Any) -> Any:
    """Σ (corner angle × face normal) at every vertex, (V, 3)."""
    sums = np.zeros((len(vertices), 3))
    for f in range(len(faces)):
        nx, ny, nz = normals[f, 0], normals[f, 1], normals[f, 2]
        if nx == 0.0 and ny == 0.0 and nz == 0.0:
            continue
        left = math.pi
        for corner in range(3):
            i, j, k = faces[f, corner], faces[f, (corner + 1) % 3], faces[f, (corner + 2) % 3]
            angle = left  # the third angle is what the other two leave
            if corner < 2:
                ux, uy, uz = (
                    vertices[j, 0] - vertices[i, 0],
                    vertices[j, 1] - vertices[i, 1],
                    vertices[j, 2] - vertices[i, 2],
                )
                vx, vy, vz = (
                    vertices[k, 0] - vertices[i, 0],
                    vertices[k, 1] - vertices[i, 1],
                    vertices[k, 2] - vertices[i, 2],
                )
                wx, wy, wz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
                angle = math.atan2(math.sqrt(wx * wx + wy * wy + wz * wz), ux * vx + uy * vy + uz * vz)
                left -= angle
            sums[i, 0] += angle * nx
            sums[i, 1] += angle * ny
            sums[i, 2] += angle * nz
    return sums


@jit
@no_type_check
def side_sums(sides: Any, normals: Any, side_count: int) -> Any:
    """Σ of the normals of the faces at every side, (E, 3)."""
    sums = np.zeros((side_count, 3))
    for f in range(len(sides)):
        for side in range(3):
            for k in range(3):
                sums[sides[f, side], k] += normals[f, k]
    return sums
