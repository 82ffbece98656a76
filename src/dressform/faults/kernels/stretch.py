"""Compiled loops behind `stretch.py`."""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit


@jit
@no_type_check
def base_frames(vertices: Any, faces: Any) -> Any:
    """Two unit tangents of every triangle (F, 2, 3) and the inverse of its sides in them (F, 3): 1/a, −b/(ac), 1/c.

    The first tangent runs along the first side, so the sides are (a, 0) and (b, c). All zero where a triangle has no
    area.
    """
    tangents = np.zeros((len(faces), 2, 3))
    inverse = np.zeros((len(faces), 3))
    for f in range(len(faces)):
        p, q, r = faces[f, 0], faces[f, 1], faces[f, 2]
        a2, along, r2 = 0.0, 0.0, 0.0
        for k in range(3):
            first, second = vertices[q, k] - vertices[p, k], vertices[r, k] - vertices[p, k]
            a2 += first * first
            along += first * second
            r2 += second * second
        c2 = r2 - along * along / a2 if a2 > 0.0 else 0.0
        if c2 <= 1e-16 * max(r2, a2):
            continue
        a = math.sqrt(a2)
        b, height2 = along / a, 0.0
        for k in range(3):
            tangents[f, 0, k] = (vertices[q, k] - vertices[p, k]) / a
            tangents[f, 1, k] = vertices[r, k] - vertices[p, k] - b * tangents[f, 0, k]
            height2 += tangents[f, 1, k] * tangents[f, 1, k]
        c = math.sqrt(height2)
        for k in range(3):
            tangents[f, 1, k] /= c
        inverse[f, 0], inverse[f, 1], inverse[f, 2] = 1.0 / a, -b / (a * c), 1.0 / c
    return tangents, inverse


@jit
@no_type_check
def face_metrics(vertices: Any, faces: Any, inverse: Any) -> Any:
    """FᵀF of every triangle in its base tangents, (F, 3): xx, xy, yy; zero where the base has no area."""
    metrics = np.zeros((len(faces), 3))
    for f in range(len(faces)):
        p, q, r = faces[f, 0], faces[f, 1], faces[f, 2]
        xx, xy, yy = 0.0, 0.0, 0.0
        for k in range(3):
            first, second = vertices[q, k] - vertices[p, k], vertices[r, k] - vertices[p, k]
            x = first * inverse[f, 0]
            y = first * inverse[f, 1] + second * inverse[f, 2]
            xx += x * x
            xy += x * y
            yy += y * y
        metrics[f, 0], metrics[f, 1], metrics[f, 2] = xx, xy, yy
    return metrics


@jit
@no_type_check
def principal(metrics: Any, against: Any) -> Any:
    """Largest and smallest √λ of det(metric − λ against) = 0, (F, 2); ones where either is no metric."""
    stretches = np.ones((len(metrics), 2))
    for f in range(len(metrics)):
        a, b, c = metrics[f, 0], metrics[f, 1], metrics[f, 2]
        p, q, r = against[f, 0], against[f, 1], against[f, 2]
        det = p * r - q * q
        if not (det > 0.0 and p > 0.0 and a + c > 0.0):
            continue
        # Cholesky of `against`, then the symmetric 2×2 problem: no cancellation where both metrics agree.
        l11 = math.sqrt(p)
        l21 = q / l11
        l22 = math.sqrt(det) / l11
        xx = a / p
        xy = (b - a * l21 / l11) / (l11 * l22)
        yy = (c - 2.0 * b * l21 / l11 + a * l21 * l21 / p) / (l22 * l22)
        middle, half = 0.5 * (xx + yy), math.hypot(0.5 * (xx - yy), xy)
        high = middle + half
        low = max((xx * yy - xy * xy) / high, 0.0) if high > 0.0 else 0.0
        stretches[f, 0], stretches[f, 1] = math.sqrt(high), math.sqrt(low)
    return stretches


@jit
@no_type_check
def length_along(metrics: Any, angle: Any) -> Any:
    """ln of the length that a metric xx, xy, yy gives to a unit tangent at an angle from the first."""
    x, y = math.cos(angle), math.sin(angle)
    square = metrics[0] * x * x + 2.0 * metrics[1] * x * y + metrics[2] * y * y
    return 0.5 * math.log(max(square, 1e-12))


@jit
@no_type_check
def departures(metrics: Any, skin: Any) -> Any:
    """Largest over all directions of how far ln length lies outside the interval from 0 to the skin's, (F,).

    It is largest where the cloth's length is, or its ratio to the skin's, or where the skin keeps its own length: at
    most six directions. 0 where either is no metric.
    """
    found = np.zeros(len(metrics))
    angles = np.zeros(6)
    for f in range(len(metrics)):
        a, b, c = metrics[f, 0], metrics[f, 1], metrics[f, 2]
        p, q, r = skin[f, 0], skin[f, 1], skin[f, 2]
        det = p * r - q * q
        if not (det > 0.0 and p > 0.0 and a + c > 0.0):
            continue
        angles[0] = 0.5 * math.atan2(2.0 * b, a - c)
        # The directions of extreme ratio are those of the cloth where the skin is round: its inverse square root there.
        l11 = math.sqrt(p)
        l21, l22 = q / l11, math.sqrt(det) / l11
        xx, xy = a / p, (b - a * l21 / l11) / (l11 * l22)
        yy = (c - 2.0 * b * l21 / l11 + a * l21 * l21 / p) / (l22 * l22)
        turn = 0.5 * math.atan2(2.0 * xy, xx - yy)
        for k in range(2):
            x, y = math.cos(turn + 0.5 * math.pi * k), math.sin(turn + 0.5 * math.pi * k)
            y = y / l22
            angles[2 + k] = math.atan2(y, (x - l21 * y) / l11)
        angles[1] = angles[0] + 0.5 * math.pi
        middle, half = 0.5 * (p + r) - 1.0, math.hypot(0.5 * (p - r), q)
        along = 0.5 * math.atan2(2.0 * q, p - r)
        rising, falling = middle + half, half - middle
        aside = math.atan2(math.sqrt(rising), math.sqrt(falling)) if rising > 0.0 and falling > 0.0 else 0.0
        angles[4], angles[5] = along + aside, along - aside
        for k in range(6):
            own, on_skin = length_along(metrics[f], angles[k]), length_along(skin[f], angles[k])
            found[f] = max(found[f], own - max(on_skin, 0.0), min(on_skin, 0.0) - own)
    return found


@jit
@no_type_check
def body_tensors(metrics: Any, chosen: Any, corners: Any, areas: Any, tangents: Any, normals: Any, count: int) -> Any:
    """Area-weighted mean over the chosen triangles around a vertex of FᵀF in space, (V, 6): xx, yy, zz, xy, xz, yz.

    Along a triangle's normal the body counts as unstretched.
    """
    tensors = np.zeros((count, 6))
    totals = np.zeros(count)
    for i in range(len(chosen)):
        f = chosen[i]
        xx, xy, yy, area = metrics[i, 0], metrics[i, 1], metrics[i, 2], areas[f]
        for corner in range(3):
            v = corners[i, corner]
            totals[v] += area
            for entry in range(6):
                k = entry if entry < 3 else (0 if entry < 5 else 1)
                m = entry if entry < 3 else (1 if entry == 3 else 2)
                value = normals[f, k] * normals[f, m] + xx * tangents[f, 0, k] * tangents[f, 0, m]
                value += yy * tangents[f, 1, k] * tangents[f, 1, m]
                value += xy * (tangents[f, 0, k] * tangents[f, 1, m] + tangents[f, 1, k] * tangents[f, 0, m])
                tensors[v, entry] += area * value
    for v in range(count):
        if totals[v] > 0.0:
            for entry in range(6):
                tensors[v, entry] /= totals[v]
        else:
            tensors[v, 0] = tensors[v, 1] = tensors[v, 2] = 1.0
    return tensors


@jit
@no_type_check
def carried_metrics(tensors: Any, feet: Any, barycentric: Any, faces: Any, tangents: Any) -> Any:
    """The body's metric at the feet of every cloth triangle, in that triangle's tangents, (F, 3).

    The mean over the three corners of the tensor interpolated at each foot.
    """
    metrics = np.zeros((len(faces), 3))
    local = np.zeros(6)
    for f in range(len(faces)):
        local[:] = 0.0
        for corner in range(3):
            g = faces[f, corner]
            for j in range(3):
                weight = barycentric[g, j] / 3.0
                for entry in range(6):
                    local[entry] += weight * tensors[feet[g, j], entry]
        for entry in range(3):
            i, j = (0 if entry < 2 else 1), (0 if entry == 0 else 1)
            ax, ay, az = tangents[f, i, 0], tangents[f, i, 1], tangents[f, i, 2]
            bx, by, bz = tangents[f, j, 0], tangents[f, j, 1], tangents[f, j, 2]
            value = local[0] * ax * bx + local[1] * ay * by + local[2] * az * bz
            value += local[3] * (ax * by + ay * bx) + local[4] * (ax * bz + az * bx) + local[5] * (ay * bz + az * by)
            metrics[f, entry] = value
    return metrics
