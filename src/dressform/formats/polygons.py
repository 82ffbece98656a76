"""Polygons into triangles."""

import numpy as np
from jaxtyping import Int


def fans(counts: Int[np.ndarray, " P"]) -> tuple[Int[np.ndarray, "F 3"], Int[np.ndarray, " F"]]:
    """Corners of the triangles that fan out polygons of `counts` corners each, and the polygon of each triangle."""
    owner = np.repeat(np.arange(len(counts)), counts - 2)
    first = np.cumsum(counts) - counts
    step = np.arange(len(owner)) - np.repeat(np.cumsum(counts - 2) - (counts - 2), counts - 2)
    return np.stack([first[owner], first[owner] + step + 1, first[owner] + step + 2], axis=1), owner
