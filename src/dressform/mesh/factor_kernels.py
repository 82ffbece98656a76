"""Compiled triangular solves for many right-hand sides at once."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import inlined, jit


@inlined
@no_type_check
def subtract(entries: Any, of: Any, q: int, way: int, amount: int, rows: Any, row: Any) -> None:
    """A row minus `amount` entries times their rows, the next of each at q + `way`, one after the other.

    Four at a time, so that the row is read and written once for them.
    """
    for _ in range(amount // 4):
        a, b, c, d = entries[q], entries[q + way], entries[q + 2 * way], entries[q + 3 * way]
        j, k, m, n = np.uint64(of[q]), np.uint64(of[q + way]), np.uint64(of[q + 2 * way]), np.uint64(of[q + 3 * way])
        for x in range(len(row)):
            row[x] = (((row[x] - a * rows[j, x]) - b * rows[k, x]) - c * rows[m, x]) - d * rows[n, x]
        q += 4 * way
    for _ in range(amount % 4):
        a, j = entries[q], np.uint64(of[q])
        for x in range(len(row)):
            row[x] -= a * rows[j, x]
        q += way


@jit
@no_type_check
def solve_in_place(
    low_start: Any, low_column: Any, low: Any, high_start: Any, high_column: Any, high: Any, columns: Any, width: int
) -> None:
    """L U x = b by rows of L (unit diagonal, last) and U (diagonal first); `columns` is b and becomes x.

    The innermost loop runs over `width` right-hand sides, which lie next to each other in memory: every entry of the
    factor is read once for all of them, and the rows that a row needs are still in the cache from the row before.
    """
    size, count = columns.shape
    for first in range(0, count, width):
        row = np.zeros(min(width, count - first))
        rows = np.zeros((size, len(row)))
        for i in range(size):
            for x in range(len(row)):
                row[x] = columns[i, first + x]
            begin, end = low_start[i], low_start[i + 1] - 1
            subtract(low, low_column, begin, 1, end - begin, rows, row)
            for x in range(len(row)):
                rows[i, x] = row[x]
        for i in range(size - 1, -1, -1):
            for x in range(len(row)):
                row[x] = rows[i, x]
            begin, end = high_start[i], high_start[i + 1] - 1
            subtract(high, high_column, end, -1, end - begin, rows, row)
            inverse = 1.0 / high[begin]
            for x in range(len(row)):
                rows[i, x] = row[x] * inverse
                columns[i, first + x] = rows[i, x]
