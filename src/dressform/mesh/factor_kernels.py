"""Compiled triangular solves for many right-hand sides at once."""

from typing import Any, no_type_check

from dressform.mesh.jit import jit


@jit
@no_type_check
def solve_in_place(
    low_start: Any, low_row: Any, low: Any, high_start: Any, high_row: Any, high: Any, columns: Any
) -> None:
    """L U x = b by columns of L (unit diagonal) and U (rows sorted, diagonal last); `columns` is b and becomes x.

    The innermost loop runs over the right-hand sides, which lie next to each other in memory: every entry of the
    factor is read once for all of them.
    """
    size, count = columns.shape
    for j in range(size):
        for q in range(low_start[j], low_start[j + 1]):
            i = low_row[q]
            if i > j:
                entry = low[q]
                for c in range(count):
                    columns[i, c] -= entry * columns[j, c]
    for j in range(size - 1, -1, -1):
        last = high_start[j + 1] - 1
        inverse = 1.0 / high[last]
        for c in range(count):
            columns[j, c] *= inverse
        for q in range(high_start[j], last):
            i = high_row[q]
            entry = high[q]
            for c in range(count):
                columns[i, c] -= entry * columns[j, c]
