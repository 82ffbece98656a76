"""Compiled loops of the implicit body. Columns of `parts` and `strokes` are named in `body_field`.

A point feels few parts and strokes: they are gathered once per step, then evaluated many times.
"""

from typing import no_type_check

import numpy as np

from dressform.mesh.jit import jit

LENGTH, CAPS, SQUARE, SOFT, BALL, CORE = 12, 13, 15, 16, 17, 21
FADE, SIDED, GROUP, START, SHARE, SPOT = 8, 9, 10, 11, 12, 13
REACH = 8.0
"""Softness lengths beyond which a part is not felt: exp(-8) is 0.0003."""
STROKE_REACH = 3.2
"""Radii beyond which a stroke is not felt: exp(-3.2²) is 0.00004."""
STEP = 1e-4
"""Step of the central differences for the gradient, metres."""
NEAR = 1e-3
"""How far a point may move before its parts are gathered again, metres."""


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
    h, j, k = max(i - 1, 0), i + 1, min(i + 2, last)
    return (
        _cubic(section[h, 0], section[i, 0], section[j, 0], section[k, 0], f),
        _cubic(section[h, 1], section[i, 1], section[j, 1], section[k, 1], f),
        _cubic(section[h, 2], section[i, 2], section[j, 2], section[k, 2], f),
        _cubic(section[h, 3], section[i, 3], section[j, 3], section[k, 3], f),
    )


@jit
@no_type_check
def _local(x, y, z, part, section):
    """Place along the axis, overhang past its ends, section offsets, and the section there."""
    dx, dy, dz = x - part[0], y - part[1], z - part[2]
    u = part[3] * dx + part[4] * dy + part[5] * dz
    v = part[6] * dx + part[7] * dy + part[8] * dz
    w = part[9] * dx + part[10] * dy + part[11] * dz
    along = min(max(u, 0.0), part[LENGTH])
    row = _row(section, part[LENGTH], along)
    return along, u - along, v - row[0], w - row[1], row


@jit
@no_type_check
def _distance(over, v, w, row, part):
    """First-order distance (q - 1) / |∇q| of q = (|v/a|ⁿ + |w/b|ⁿ + |over/c|ⁿ)^(1/n)."""
    cap = part[CAPS] if over < 0.0 else part[CAPS + 1]
    a, b, c = abs(v) / row[2], abs(w) / row[3], abs(over) / cap
    if a + b + c < 1e-9:
        return -min(row[2], row[3])
    n = part[SQUARE]
    if n == 2.0:
        q = np.sqrt(a * a + b * b + c * c)
        return (q - 1.0) * q / np.sqrt((a / row[2]) ** 2 + (b / row[3]) ** 2 + (c / cap) ** 2)
    m = n - 1.0
    am, bm, cm = a**m, b**m, c**m
    q = (am * a + bm * b + cm * c) ** (1.0 / n)
    return (q - 1.0) * q**m / np.sqrt((am / row[2]) ** 2 + (bm / row[3]) ** 2 + (cm / cap) ** 2)


@jit
@no_type_check
def _share(d, width):
    """Claim of a part on a point at distance d, falling fast so that far parts have no say."""
    return np.exp(-((max(d, 0.0) / width) ** 2))


@jit
@no_type_check
def _away(x, y, z, ball):
    """Distance from a point to the outside of a ball, negative inside."""
    dx, dy, dz = x - ball[0], y - ball[1], z - ball[2]
    return np.sqrt(dx * dx + dy * dy + dz * dz) - ball[3]


@jit
@no_type_check
def _gather(x, y, z, parts, strokes, near, marks):
    """Write down the parts and strokes that can be felt within NEAR of a point; how many of each."""
    near_count = 0
    for p in range(len(parts)):
        if _away(x, y, z, parts[p, BALL : BALL + 4]) < NEAR:
            near[near_count] = p
            near_count += 1
    mark_count = 0
    for s in range(len(strokes)):
        spot = strokes[s, SPOT : SPOT + 4]
        if _away(x, y, z, spot) < NEAR or (strokes[s, SIDED] > 0.0 and _away(-x, y, z, spot) < NEAR):
            marks[mark_count] = s
            mark_count += 1
    return near_count, mark_count


@jit
@no_type_check
def _segment(x, y, z, stroke):
    """Place along a stroke's segment, 0 to 1, and the squared distance from it in squared radii."""
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
def _strokes(x, y, z, strokes, marks, mark_count):
    """Sum of the strokes' depths at a point; of one stroke and its image only the nearest segment counts."""
    result, nearest, place = 0.0, np.inf, 0.0
    for m in range(mark_count):
        stroke = strokes[marks[m]]
        t, q = _segment(x, y, z, stroke)
        if stroke[SIDED] > 0.0:
            other_t, other_q = _segment(-x, y, z, stroke)
            if other_q < q:
                t, q = other_t, other_q
        if q < nearest:
            nearest, place = q, stroke[START] + t * stroke[SHARE]
        if m + 1 == mark_count or strokes[marks[m + 1], GROUP] != stroke[GROUP]:
            result += stroke[7] * np.exp(-nearest) * (1.0 - stroke[FADE] * (2.0 * place - 1.0) ** 2)
            nearest = np.inf
    return result


@jit
@no_type_check
def _value(x, y, z, parts, section, strokes, near, near_count, marks, mark_count):
    total = 0.0
    softness = 0.0
    for k in range(near_count):
        p = near[k]
        _, over, v, w, row = _local(x, y, z, parts[p], section[p])
        d = _distance(over, v, w, row, parts[p])
        soft = parts[p, SOFT]
        if d < REACH * soft:
            g = np.exp(min(-d / soft, 40.0))
            total += g
            softness += g * soft
    if total <= 0.0:
        return 1.0
    return -softness / total * np.log(total) + _strokes(x, y, z, strokes, marks, mark_count)


@jit
@no_type_check
def _gradient(x, y, z, parts, section, strokes, near, near_count, marks, mark_count):
    h = STEP
    values = np.zeros(6)
    for k in range(6):
        step = h if k % 2 == 0 else -h
        values[k] = _value(
            x + (step if k // 2 == 0 else 0.0),
            y + (step if k // 2 == 1 else 0.0),
            z + (step if k // 2 == 2 else 0.0),
            parts,
            section,
            strokes,
            near,
            near_count,
            marks,
            mark_count,
        )
    return (values[0] - values[1]) / (2 * h), (values[2] - values[3]) / (2 * h), (values[4] - values[5]) / (2 * h)


@jit
@no_type_check
def values(points, parts, section, strokes):
    """The field at each point."""
    out = np.zeros(len(points))
    near, marks = np.zeros(len(parts), np.int64), np.zeros(len(strokes), np.int64)
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        near_count, mark_count = _gather(x, y, z, parts, strokes, near, marks)
        out[i] = _value(x, y, z, parts, section, strokes, near, near_count, marks, mark_count)
    return out


@jit
@no_type_check
def rough(points, parts, section):
    """First-order distance to the nearest part; a part whose ball lies further than one found is passed over."""
    out = np.full(len(points), np.inf)
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for p in range(len(parts)):
            if _away(x, y, z, parts[p, BALL : BALL + 4]) + parts[p, BALL + 3] - parts[p, CORE] < out[i]:
                _, over, v, w, row = _local(x, y, z, parts[p], section[p])
                out[i] = min(out[i], _distance(over, v, w, row, parts[p]))
    return out


@jit
@no_type_check
def project(points, parts, section, strokes, steps, longest):
    """Newton steps along the gradient, none longer than `longest`; at most `steps` of them."""
    out = points.copy()
    near, marks = np.zeros(len(parts), np.int64), np.zeros(len(strokes), np.int64)
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for _ in range(steps):
            near_count, mark_count = _gather(x, y, z, parts, strokes, near, marks)
            f = _value(x, y, z, parts, section, strokes, near, near_count, marks, mark_count)
            if abs(f) < 1e-9:
                break
            gx, gy, gz = _gradient(x, y, z, parts, section, strokes, near, near_count, marks, mark_count)
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
def carry(points, parts, section, new, new_section, widen):
    """Images of points under every part's own map, averaged by the parts' shares."""
    out = points.copy()
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        total = 0.0
        image = np.zeros(3)
        for p in range(len(parts)):
            if _away(x, y, z, parts[p, BALL : BALL + 4]) > 0.0:
                continue
            along, over, v, w, row = _local(x, y, z, parts[p], section[p])
            d = _distance(over, v, w, row, parts[p])
            if d > REACH * parts[p, SOFT]:
                continue
            g = _share(d, widen * parts[p, SOFT])
            cap = CAPS if over < 0.0 else CAPS + 1
            new_along = along / parts[p, LENGTH] * new[p, LENGTH] if parts[p, LENGTH] > 0.0 else 0.0
            new_row = _row(new_section[p], new[p, LENGTH], new_along)
            u = new_along + over * new[p, cap] / parts[p, cap]
            v = new_row[0] + v * new_row[2] / row[2]
            w = new_row[1] + w * new_row[3] / row[3]
            total += g
            for c in range(3):
                image[c] += g * (new[p, c] + u * new[p, 3 + c] + v * new[p, 6 + c] + w * new[p, 9 + c])
        if total > 0.0:
            out[i] = image / total
    return out


@jit
@no_type_check
def memberships(points, parts, section, widen):
    """Each part's share of each point, and the place along each part's axis."""
    owned = np.zeros((len(points), len(parts)))
    places = np.zeros((len(points), len(parts)))
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        total = 0.0
        for p in range(len(parts)):
            if _away(x, y, z, parts[p, BALL : BALL + 4]) > 0.0:
                continue
            along, over, v, w, row = _local(x, y, z, parts[p], section[p])
            d = _distance(over, v, w, row, parts[p])
            places[i, p] = along + over
            if d < REACH * parts[p, SOFT]:
                owned[i, p] = _share(d, widen * parts[p, SOFT])
                total += owned[i, p]
        for p in range(len(parts)):
            owned[i, p] /= max(total, 1e-30)
    return owned, places


@jit
@no_type_check
def blended(points, parts, section, widen, numbers):
    """A number per part, averaged at each point by the parts' shares."""
    out = np.zeros(len(points))
    for i in range(len(points)):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        total = 0.0
        for p in range(len(parts)):
            if _away(x, y, z, parts[p, BALL : BALL + 4]) > 0.0:
                continue
            _, over, v, w, row = _local(x, y, z, parts[p], section[p])
            d = _distance(over, v, w, row, parts[p])
            if d < REACH * parts[p, SOFT]:
                g = _share(d, widen * parts[p, SOFT])
                total += g
                out[i] += g * numbers[p]
        out[i] /= max(total, 1e-30)
    return out
