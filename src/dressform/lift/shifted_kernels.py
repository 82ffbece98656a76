"""Compiled elimination of K − iV and substitution with its factor."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit

PANEL = 16  # columns eliminated together
SMALL = 64  # in a front of so few rows a panel costs more than it gives


@jit
@no_type_check
def eliminate(
    pointers: Any,
    neighbours: Any,
    values: Any,
    pull: Any,
    order: Any,
    parents: Any,
    starts: Any,
    border_starts: Any,
    borders: Any,
    real: Any,
    imaginary: Any,
) -> None:
    """Fill the panels, block after block; the remainder of a block waits until its parent takes it."""
    place, local = np.zeros(len(order), dtype=np.int64), np.zeros(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    rests = [np.zeros((0, 0, 0)) for _ in range(len(parents))]
    first_child, next_child = np.full(len(parents), -1), np.full(len(parents), -1)
    at = 0
    for block in range(len(parents)):
        low, high = starts[block], starts[block + 1]
        border = borders[border_starts[block] : border_starts[block + 1]]
        size, width = high - low, len(border)
        local[low:high] = np.arange(size)
        local[border] = np.arange(size, size + width)
        front = np.zeros((2, size + width, size + width))
        for own in range(size):
            vertex = order[low + own]
            front[1, own, own] -= pull[vertex]
            for entry in range(pointers[vertex], pointers[vertex + 1]):
                other = place[neighbours[entry]]
                if other >= low + own:
                    front[0, local[other], own] += values[entry]
        child = first_child[block]
        while child >= 0:
            own_size = starts[child + 1] - starts[child]
            _gather(front, rests[child], own_size, local[borders[border_starts[child] : border_starts[child + 1]]])
            rests[child] = np.zeros((0, 0, 0))
            child = next_child[child]
        _reduce(front, size)
        for row in range(size + width):
            for column in range(min(row + 1, size)):
                real[at + row * size + column] = front[0, row, column]
                imaginary[at + row * size + column] = front[1, row, column]
        at += (size + width) * size
        if parents[block] >= 0:
            rests[block] = front
            next_child[block] = first_child[parents[block]]
            first_child[parents[block]] = block


@jit
@no_type_check
def _gather(front: Any, child: Any, size: int, places: Any) -> None:
    """Add what is left of a child's front past its `size` own rows, a lower triangle, to its parent's front."""
    for row in range(len(places)):
        to_re, to_im = front[0, places[row]], front[1, places[row]]
        from_re, from_im = child[0, size + row, size:], child[1, size + row, size:]
        for column in range(row + 1):
            to_re[places[column]] += from_re[column]
            to_im[places[column]] += from_im[column]


@jit
@no_type_check
def _reduce(front: Any, size: int) -> None:
    """Eliminate the first `size` columns of the lower triangle in place, leaving L and D⁻¹ in them.

    In panels of columns: what a panel takes from a row behind it is taken at once, while that row is near.
    """
    total = front.shape[1]
    real, imaginary = front[0], front[1]
    panel = PANEL if total > SMALL else max(size, 1)
    kept_re, kept_im = np.zeros((panel, total)), np.zeros((panel, total))  # columns of a panel before D⁻¹, as rows
    for begin in range(0, size, panel):
        end = min(begin + panel, size)
        near = end if total > SMALL else total  # columns that are changed at once
        for k in range(begin, end):
            a, b = real[k, k], imaginary[k, k]
            norm = a * a + b * b
            inverse_re, inverse_im = a / norm, -b / norm
            real[k, k], imaginary[k, k] = inverse_re, inverse_im
            column_re, column_im = kept_re[k - begin], kept_im[k - begin]
            for row in range(k + 1, total):
                p, q = real[row, k], imaginary[row, k]
                column_re[row], column_im[row] = p, q
                scaled_re, scaled_im = p * inverse_re - q * inverse_im, p * inverse_im + q * inverse_re
                real[row, k], imaginary[row, k] = scaled_re, scaled_im
                for c in range(k + 1, min(row + 1, near)):
                    real[row, c] -= scaled_re * column_re[c] - scaled_im * column_im[c]
                    imaginary[row, c] -= scaled_re * column_im[c] + scaled_im * column_re[c]
        for row in range(near, total):
            _take(real[row], imaginary[row], begin, end, row + 1, kept_re, kept_im)


@jit
@no_type_check
def _take(row_re: Any, row_im: Any, begin: int, end: int, last: int, kept_re: Any, kept_im: Any) -> None:
    """Subtract multiples of a panel's columns from a row behind it, one after the other, four of them in one loop.

    Real and imaginary parts have loops of their own: with more arrays in one the compiler takes numbers one by one.
    """
    to_re, to_im = row_re[end:last], row_im[end:last]
    count = end - begin
    fours = count - count % 4
    for k in range(0, fours, 4):
        a, b = kept_re[k, end:last], kept_im[k, end:last]
        c, d = kept_re[k + 1, end:last], kept_im[k + 1, end:last]
        e, f = kept_re[k + 2, end:last], kept_im[k + 2, end:last]
        g, h = kept_re[k + 3, end:last], kept_im[k + 3, end:last]
        at = begin + k
        p, q, r, s = row_re[at], row_im[at], row_re[at + 1], row_im[at + 1]
        t, u, v, w = row_re[at + 2], row_im[at + 2], row_re[at + 3], row_im[at + 3]
        _take_real(to_re, a, b, c, d, e, f, g, h, p, q, r, s, t, u, v, w)
        _take_imaginary(to_im, a, b, c, d, e, f, g, h, p, q, r, s, t, u, v, w)
    for k in range(fours, count):
        _subtract(to_re, to_im, kept_re[k, end:last], kept_im[k, end:last], row_re[begin + k], row_im[begin + k])


@jit
@no_type_check
def _subtract(to_re: Any, to_im: Any, from_re: Any, from_im: Any, a: float, b: float) -> None:
    """Subtract (a + ib) times one row, or a part of it, from another."""
    for c in range(len(to_re)):
        to_re[c] -= a * from_re[c] - b * from_im[c]
        to_im[c] -= a * from_im[c] + b * from_re[c]


@jit
@no_type_check
def _take_real(
    to: Any, a: Any, b: Any, c: Any, d: Any, e: Any, f: Any, g: Any, h: Any, p: float, q: float, r: float, s: float,
    t: float, u: float, v: float, w: float,
) -> None:  # fmt: skip
    """Subtract the real part of four such products: a + ib times p + iq, c + id times r + is, and so on."""
    for i in range(len(to)):
        to[i] = to[i] - (p * a[i] - q * b[i]) - (r * c[i] - s * d[i]) - (t * e[i] - u * f[i]) - (v * g[i] - w * h[i])


@jit
@no_type_check
def _take_imaginary(
    to: Any, a: Any, b: Any, c: Any, d: Any, e: Any, f: Any, g: Any, h: Any, p: float, q: float, r: float, s: float,
    t: float, u: float, v: float, w: float,
) -> None:  # fmt: skip
    """The same for the imaginary part."""
    for i in range(len(to)):
        to[i] = to[i] - (p * b[i] + q * a[i]) - (r * d[i] + s * c[i]) - (t * f[i] + u * e[i]) - (v * h[i] + w * g[i])


@jit
@no_type_check
def substitute(
    starts: Any, border_starts: Any, borders: Any, real: Any, imaginary: Any, right_re: Any, right_im: Any
) -> None:
    """Solve in place; rows of the right-hand sides in the order of elimination."""
    blocks = len(starts) - 1
    at = 0
    for block in range(blocks):
        low, size = starts[block], starts[block + 1] - starts[block]
        border = borders[border_starts[block] : border_starts[block + 1]]
        for row in range(size + len(border)):
            to = low + row if row < size else border[row - size]
            for k in range(min(row, size)):
                _subtract(
                    right_re[to],
                    right_im[to],
                    right_re[low + k],
                    right_im[low + k],
                    real[at + row * size + k],
                    imaginary[at + row * size + k],
                )
        at += (size + len(border)) * size
    for block in range(blocks - 1, -1, -1):
        low, size = starts[block], starts[block + 1] - starts[block]
        border = borders[border_starts[block] : border_starts[block + 1]]
        at -= (size + len(border)) * size
        for k in range(size):
            _scale(right_re[low + k], right_im[low + k], real[at + k * size + k], imaginary[at + k * size + k])
        for row in range(size + len(border) - 1, -1, -1):
            come = low + row if row < size else border[row - size]
            for k in range(min(row, size)):
                _subtract(
                    right_re[low + k],
                    right_im[low + k],
                    right_re[come],
                    right_im[come],
                    real[at + row * size + k],
                    imaginary[at + row * size + k],
                )


@jit
@no_type_check
def substitute_few(
    starts: Any, border_starts: Any, borders: Any, real: Any, imaginary: Any, right_re: Any, right_im: Any
) -> None:
    """As `substitute`, to the last bit, for few right-hand sides: each is a row here, and loops run along a panel."""
    blocks, count = len(starts) - 1, len(right_re)
    at = 0
    for block in range(blocks):
        low, size = starts[block], starts[block + 1] - starts[block]
        border = borders[border_starts[block] : border_starts[block + 1]]
        for c in range(count):
            column_re, column_im = right_re[c], right_im[c]
            for row in range(size + len(border)):
                to = low + row if row < size else border[row - size]
                sum_re, sum_im, first = column_re[to], column_im[to], at + row * size
                for k in range(min(row, size)):
                    a, b, p, q = real[first + k], imaginary[first + k], column_re[low + k], column_im[low + k]
                    sum_re -= a * p - b * q
                    sum_im -= a * q + b * p
                column_re[to], column_im[to] = sum_re, sum_im
        at += (size + len(border)) * size
    for block in range(blocks - 1, -1, -1):
        low, size = starts[block], starts[block + 1] - starts[block]
        border = borders[border_starts[block] : border_starts[block + 1]]
        at -= (size + len(border)) * size
        for c in range(count):
            column_re, column_im = right_re[c], right_im[c]
            for k in range(size):
                a, b, p = real[at + k * size + k], imaginary[at + k * size + k], column_re[low + k]
                column_re[low + k] = a * p - b * column_im[low + k]
                column_im[low + k] = a * column_im[low + k] + b * p
            for row in range(size + len(border) - 1, -1, -1):
                come, first = low + row if row < size else border[row - size], at + row * size
                p, q = column_re[come], column_im[come]
                for k in range(min(row, size)):
                    column_re[low + k] -= real[first + k] * p - imaginary[first + k] * q
                    column_im[low + k] -= real[first + k] * q + imaginary[first + k] * p


@jit
@no_type_check
def _scale(row_re: Any, row_im: Any, a: float, b: float) -> None:
    """Multiply a row by a + ib."""
    for c in range(len(row_re)):
        p = row_re[c]
        row_re[c] = a * p - b * row_im[c]
        row_im[c] = a * row_im[c] + b * p
