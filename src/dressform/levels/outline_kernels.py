"""Compiled loop that fills what a mesh covers in a picture."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit


@jit
@no_type_check
def draw_line(found: Any, ax: float, ay: float, bx: float, by: float) -> None:
    """Mark the pixels along a line, one per step of a pixel."""
    steps = int(np.ceil(max(abs(bx - ax), abs(by - ay)))) + 1
    for step in range(steps + 1):
        share = step / steps
        row, column = int(np.floor(ay + share * (by - ay))), int(np.floor(ax + share * (bx - ax)))
        if 0 <= row < found.shape[0] and 0 <= column < found.shape[1]:
            found[row, column] = True


@jit
@no_type_check
def cover(points: Any, faces: Any, rows: int, columns: int) -> Any:
    """Pixels whose centre lies in a triangle, and those along its sides, (rows, columns).

    Along the sides, so that cloth seen edge-on is a line and not nothing. `points` holds column and row of each vertex,
    in pixels from the outer corner of the first.
    """
    found = np.zeros((rows, columns), dtype=np.bool_)
    for face in range(len(faces)):
        ax, ay = points[faces[face, 0], 0], points[faces[face, 0], 1]
        bx, by = points[faces[face, 1], 0], points[faces[face, 1], 1]
        cx, cy = points[faces[face, 2], 0], points[faces[face, 2], 1]
        draw_line(found, ax, ay, bx, by)
        draw_line(found, bx, by, cx, cy)
        draw_line(found, cx, cy, ax, ay)
        area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
        if area == 0.0:
            continue
        top = max(0, int(np.ceil(min(ay, by, cy) - 0.5)))
        bottom = min(rows - 1, int(np.floor(max(ay, by, cy) - 0.5)))
        left = max(0, int(np.ceil(min(ax, bx, cx) - 0.5)))
        right = min(columns - 1, int(np.floor(max(ax, bx, cx) - 0.5)))
        for row in range(top, bottom + 1):
            y = row + 0.5
            for column in range(left, right + 1):
                x = column + 0.5
                u = ((bx - x) * (cy - y) - (cx - x) * (by - y)) / area
                v = ((cx - x) * (ay - y) - (ax - x) * (cy - y)) / area
                if u >= 0.0 and v >= 0.0 and u + v <= 1.0:
                    found[row, column] = True
    return found
