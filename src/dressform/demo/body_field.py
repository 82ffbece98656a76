"""The implicit body: a smooth union of parts, modelled over by strokes.

A part is a straight axis with an oval section that varies along it (a limb), closed by rounded caps; an axis of
length zero makes an ellipsoid. With d_i the distance to part i, first order in the implicit function, and k_i its
softness, the union is

    f(x) = -k log Σ_i exp(-d_i(x) / k_i),   k = the k_i weighted as in the sum,

positive outside. A stroke then adds a·exp(-(distance to a segment / r)²): it pushes the surface in by about a.
A stroke and its mirror image count once, by the nearer of the two.
Exponential blending is common practice for implicit surfaces, no source.
"""

from dataclasses import dataclass
from typing import no_type_check

import numpy as np
from jaxtyping import Float

from dressform.arrays import Points, VertexScalars
from dressform.mesh.jit import jit

ROWS = 49
"""Samples of a section along an axis."""
REACH = 8.0
"""Softness lengths beyond which a part is not felt: exp(-8) is 0.0003."""
STROKE_REACH = 3.2
STEP = 1e-4
"""Step of the central differences for the gradient, metres."""


@dataclass(frozen=True)
class Field:
    """Arrays that describe the parts (P of them) and the strokes (S), metres.

    Attributes:
        origin: Start of each axis, (P, 3).
        axes: Rows: direction along the axis, and the two directions of the section, (P, 3, 3).
        length: Length of each axis, (P,).
        section: Offset along the two section directions and the two half-widths, per sample, (P, ROWS, 4).
        caps: Length of the rounded end before the start and after the end, (P, 2).
        squareness: Exponent of the section: 2 an ellipse, more is squarer, (P,).
        softness: Length over which a part blends with others, (P,).
        ball: Centre and radius outside which a part is not felt, (P, 4).
        strokes: Segment ends, radius, depth, how much the depth fades to the ends (0 to 1), and 1 where the stroke
            also works on the body's other side, (S, 10).
    """

    origin: Float[np.ndarray, "P 3"]
    axes: Float[np.ndarray, "P 3 3"]
    length: Float[np.ndarray, " P"]
    section: Float[np.ndarray, "P R 4"]
    caps: Float[np.ndarray, "P 2"]
    squareness: Float[np.ndarray, " P"]
    softness: Float[np.ndarray, " P"]
    ball: Float[np.ndarray, "P 4"]
    strokes: Float[np.ndarray, "S 10"]

    def kernel_arrays(self) -> tuple[np.ndarray, ...]:
        """The part arrays in the order the kernels take them."""
        return (
            self.origin,
            self.axes,
            self.length,
            self.section,
            self.caps,
            self.squareness,
            self.softness,
            self.ball,
        )


def value(field: Field, points: Points) -> VertexScalars:
    """The field at `points`, (V,): about the signed distance near the surface, positive outside, metres."""
    return _values(np.ascontiguousarray(points), *field.kernel_arrays(), field.strokes)


def rough(field: Field, points: Points) -> VertexScalars:
    """Distance to the nearest part, without blending or strokes, at any distance, (V,), metres."""
    return _rough(np.ascontiguousarray(points), *field.kernel_arrays()[:6])


def project(field: Field, points: Points, *, steps: int = 8, longest: float = 0.02) -> Points:
    """Move `points` down the gradient onto the surface by at most `steps` Newton steps, (V, 3).

    A step is never longer than `longest`; points within a nanometre stop early.
    """
    return _project(np.ascontiguousarray(points), *field.kernel_arrays(), field.strokes, steps, longest)


def normals(field: Field, points: Points) -> Points:
    """Unit gradient at `points`, (V, 3)."""
    return _normals(np.ascontiguousarray(points), *field.kernel_arrays(), field.strokes)


def carry(old: Field, new: Field, points: Points, *, widen: float = 1.6) -> Points:
    """Where `points` go when every part of `old` moves to the same part of `new`, (V, 3).

    Each part maps its own coordinates (place along the axis, offset as a share of the section); the images are
    averaged with the weights of the smooth union, softened by `widen`.
    """
    return _carry(np.ascontiguousarray(points), *old.kernel_arrays(), *new.kernel_arrays(), widen)


def memberships(
    field: Field, points: Points, *, widen: float = 1.6
) -> tuple[Float[np.ndarray, "V P"], Float[np.ndarray, "V P"]]:
    """How much each part owns each point (rows sum to 1), and the place along each axis, metres from its start."""
    return _memberships(np.ascontiguousarray(points), *field.kernel_arrays(), widen)


@jit
@no_type_check
def _cubic(p0, p1, p2, p3, f):
    return p1 + 0.5 * f * (p2 - p0 + f * (2 * p0 - 5 * p1 + 4 * p2 - p3 + f * (3 * (p1 - p2) + p3 - p0)))


@jit
@no_type_check
def _row(section, length, along):
    """Section at a place along the axis: Catmull-Rom through the samples, end values beyond the ends."""
    if length <= 0.0:
        return section[0, 0], section[0, 1], section[0, 2], section[0, 3]
    last = section.shape[0] - 1
    s = min(max(along / length * last, 0.0), float(last))
    i = min(int(s), last - 1)
    f = s - i
    h = max(i - 1, 0)
    j = i + 1
    k = min(i + 2, last)
    return (
        _cubic(section[h, 0], section[i, 0], section[j, 0], section[k, 0], f),
        _cubic(section[h, 1], section[i, 1], section[j, 1], section[k, 1], f),
        _cubic(section[h, 2], section[i, 2], section[j, 2], section[k, 2], f),
        _cubic(section[h, 3], section[i, 3], section[j, 3], section[k, 3], f),
    )


@jit
@no_type_check
def _local(x, y, z, origin, axes, length, section):
    """Place along the axis, overhang past its ends, section offsets, and the section there."""
    dx, dy, dz = x - origin[0], y - origin[1], z - origin[2]
    u = axes[0, 0] * dx + axes[0, 1] * dy + axes[0, 2] * dz
    v = axes[1, 0] * dx + axes[1, 1] * dy + axes[1, 2] * dz
    w = axes[2, 0] * dx + axes[2, 1] * dy + axes[2, 2] * dz
    along = min(max(u, 0.0), length)
    row = _row(section, length, along)
    return along, u - along, v - row[0], w - row[1], row


@jit
@no_type_check
def _distance(over, v, w, row, cap, n):
    """First-order distance (q - 1) / |∇q| of q = (|v/a|ⁿ + |w/b|ⁿ + |over/c|ⁿ)^(1/n)."""
    a, b, c = abs(v) / row[2], abs(w) / row[3], abs(over) / cap
    if a + b + c < 1e-9:
        return -min(row[2], row[3])
    total = a**n + b**n + c**n
    q = total ** (1.0 / n)
    m = n - 1.0
    slope = np.sqrt((a**m / row[2]) ** 2 + (b**m / row[3]) ** 2 + (c**m / cap) ** 2) * q ** (1.0 - n)
    return (q - 1.0) / slope


@jit
@no_type_check
def _part_distance(x, y, z, p, origin, axes, length, section, caps, square):
    _, over, v, w, row = _local(x, y, z, origin[p], axes[p], length[p], section[p])
    cap = caps[p, 0] if over < 0.0 else caps[p, 1]
    return _distance(over, v, w, row, cap, square[p])


@jit
@no_type_check
def _felt(x, y, z, ball):
    dx, dy, dz = x - ball[0], y - ball[1], z - ball[2]
    return dx * dx + dy * dy + dz * dz < ball[3] * ball[3]


@jit
@no_type_check
def _stroke(x, y, z, stroke):
    """Place along a stroke, 0 to 1, and the squared distance from it in squared radii."""
    ux, uy, uz = stroke[3] - stroke[0], stroke[4] - stroke[1], stroke[5] - stroke[2]
    dx, dy, dz = x - stroke[0], y - stroke[1], z - stroke[2]
    square_length = ux * ux + uy * uy + uz * uz
    t = 0.5
    if square_length > 0.0:
        t = min(max((dx * ux + dy * uy + dz * uz) / square_length, 0.0), 1.0)
        dx, dy, dz = dx - t * ux, dy - t * uy, dz - t * uz
    return t, (dx * dx + dy * dy + dz * dz) / (stroke[6] * stroke[6])


@jit
@no_type_check
def _value(x, y, z, origin, axes, length, section, caps, square, soft, ball, strokes):
    total = 0.0
    softness = 0.0
    for p in range(len(length)):
        if _felt(x, y, z, ball[p]):
            d = _part_distance(x, y, z, p, origin, axes, length, section, caps, square)
            if d < REACH * soft[p]:
                g = np.exp(min(-d / soft[p], 40.0))
                total += g
                softness += g * soft[p]
    if total <= 0.0:
        return 1.0
    result = -softness / total * np.log(total)
    for s in range(len(strokes)):
        t, q = _stroke(x, y, z, strokes[s])
        if strokes[s, 9] > 0.0:
            other_t, other_q = _stroke(-x, y, z, strokes[s])
            if other_q < q:
                t, q = other_t, other_q
        if q < STROKE_REACH * STROKE_REACH:
            result += strokes[s, 7] * np.exp(-q) * (1.0 - strokes[s, 8] * (2.0 * t - 1.0) ** 2)
    return result


@jit
@no_type_check
def _values(points, origin, axes, length, section, caps, square, soft, ball, strokes):
    out = np.zeros(len(points))
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        out[i] = _value(x, y, z, origin, axes, length, section, caps, square, soft, ball, strokes)
    return out


@jit
@no_type_check
def _rough(points, origin, axes, length, section, caps, square):
    out = np.full(len(points), np.inf)
    for i in range(len(points)):
        for p in range(len(length)):
            d = _part_distance(points[i, 0], points[i, 1], points[i, 2], p, origin, axes, length, section, caps, square)
            out[i] = min(out[i], d)
    return out


@jit
@no_type_check
def _gradient(x, y, z, origin, axes, length, section, caps, square, soft, ball, strokes):
    h = STEP
    gx = _value(x + h, y, z, origin, axes, length, section, caps, square, soft, ball, strokes) - _value(
        x - h, y, z, origin, axes, length, section, caps, square, soft, ball, strokes
    )
    gy = _value(x, y + h, z, origin, axes, length, section, caps, square, soft, ball, strokes) - _value(
        x, y - h, z, origin, axes, length, section, caps, square, soft, ball, strokes
    )
    gz = _value(x, y, z + h, origin, axes, length, section, caps, square, soft, ball, strokes) - _value(
        x, y, z - h, origin, axes, length, section, caps, square, soft, ball, strokes
    )
    return gx / (2 * h), gy / (2 * h), gz / (2 * h)


@jit
@no_type_check
def _normals(points, origin, axes, length, section, caps, square, soft, ball, strokes):
    out = np.zeros_like(points)
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        gx, gy, gz = _gradient(x, y, z, origin, axes, length, section, caps, square, soft, ball, strokes)
        size = np.sqrt(gx * gx + gy * gy + gz * gz) + 1e-30
        out[i, 0], out[i, 1], out[i, 2] = gx / size, gy / size, gz / size
    return out


@jit
@no_type_check
def _project(points, origin, axes, length, section, caps, square, soft, ball, strokes, steps, longest):
    out = points.copy()
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for _ in range(steps):
            f = _value(x, y, z, origin, axes, length, section, caps, square, soft, ball, strokes)
            if abs(f) < 1e-9:
                break
            gx, gy, gz = _gradient(x, y, z, origin, axes, length, section, caps, square, soft, ball, strokes)
            size = gx * gx + gy * gy + gz * gz
            if size < 1e-6:
                break
            t = -f / size
            step = abs(t) * np.sqrt(size)
            if step > longest:
                t *= longest / step
            x, y, z = x + t * gx, y + t * gy, z + t * gz
        out[i, 0], out[i, 1], out[i, 2] = x, y, z
    return out


@jit
@no_type_check
def _carry(points, origin, axes, length, section, caps, square, soft, ball, o2, a2, l2, s2, c2, q2, k2, b2, widen):
    out = points.copy()
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        total = 0.0
        sx = sy = sz = 0.0
        for p in range(len(length)):
            if not _felt(x, y, z, ball[p]):
                continue
            along, over, v, w, row = _local(x, y, z, origin[p], axes[p], length[p], section[p])
            end = 0 if over < 0.0 else 1
            d = _distance(over, v, w, row, caps[p, end], square[p])
            if d > REACH * soft[p]:
                continue
            g = np.exp(min(-d / (widen * soft[p]), 40.0))
            new_along = along / length[p] * l2[p] if length[p] > 0.0 else 0.0
            new_row = _row(s2[p], l2[p], new_along)
            nu = new_along + over * c2[p, end] / caps[p, end]
            nv = new_row[0] + v * new_row[2] / row[2]
            nw = new_row[1] + w * new_row[3] / row[3]
            total += g
            sx += g * (o2[p, 0] + nu * a2[p, 0, 0] + nv * a2[p, 1, 0] + nw * a2[p, 2, 0])
            sy += g * (o2[p, 1] + nu * a2[p, 0, 1] + nv * a2[p, 1, 1] + nw * a2[p, 2, 1])
            sz += g * (o2[p, 2] + nu * a2[p, 0, 2] + nv * a2[p, 1, 2] + nw * a2[p, 2, 2])
        if total > 0.0:
            out[i, 0], out[i, 1], out[i, 2] = sx / total, sy / total, sz / total
    return out


@jit
@no_type_check
def _memberships(points, origin, axes, length, section, caps, square, soft, ball, widen):
    owned = np.zeros((len(points), len(length)))
    places = np.zeros((len(points), len(length)))
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        total = 0.0
        for p in range(len(length)):
            if not _felt(x, y, z, ball[p]):
                continue
            along, over, v, w, row = _local(x, y, z, origin[p], axes[p], length[p], section[p])
            d = _distance(over, v, w, row, caps[p, 0 if over < 0.0 else 1], square[p])
            places[i, p] = along + over
            if d < REACH * soft[p]:
                owned[i, p] = np.exp(min(-d / (widen * soft[p]), 40.0))
                total += owned[i, p]
        for p in range(len(length)):
            owned[i, p] /= max(total, 1e-30)
    return owned, places
