"""Capes, ponchos and shawls that are modelled on a body: cloth that bridges neck, shoulder and arm."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from dressform.body.body import Body
from dressform.garment.garment import Garment

AROUND, DOWN = 96, 36
"""Vertices round a draped garment and down it."""
REACH_UP = 0.02
"""Skin so far above a row still pushes it outward, metres."""
SMOOTH = 2.0
"""Vertices over which the outline is smoothed,"""
BESIDE = 5
"""and so many on either side of what stands out it keeps clear of it, or thumbs and forearms would come through."""


@dataclass(frozen=True)
class Drape:
    """A draped garment.

    Attributes:
        name: Its name.
        top, bottom: Heights of its upper and lower edge, shares of stature.
        ease: Distance from what it lies on, metres.
        flare: How much wider it gets per metre of fall.
        opening: Degrees that are left open in front; 0 for a closed one.
    """

    name: str
    top: float
    bottom: float
    ease: float
    flare: float = 0.05
    opening: float = 0.0


DRAPES = (
    Drape("cape", 0.84, 0.55, 0.012, 0.10, 40.0),
    Drape("short cape", 0.845, 0.68, 0.010, 0.05, 25.0),
    Drape("poncho", 0.85, 0.52, 0.015, 0.12),
    Drape("close poncho", 0.845, 0.62, 0.008, 0.02),
    Drape("shawl", 0.84, 0.66, 0.014, 0.15, 60.0),
    Drape("capelet", 0.85, 0.74, 0.010),
)


def draped(body: Body, drape: Drape) -> Garment:
    """The garment on the base body: each row lies on all that stands out above it, and falls straight from there."""
    floor, tall = body.vertices[:, 1].min(), body.stature
    heights = floor + tall * np.linspace(drape.top, drape.bottom, DOWN)
    neck = body.vertices[np.abs(body.vertices[:, 1] - heights[0]) < 0.02]
    middle = neck[np.linalg.norm(neck[:, [0, 2]] - np.median(neck[:, [0, 2]], axis=0), axis=1) < 0.15].mean(axis=0)
    ways = (body.vertices - middle)[:, [0, 2]]
    radius, angle = np.linalg.norm(ways, axis=1), np.arctan2(ways[:, 0], ways[:, 1])
    half = np.radians(drape.opening) / 2
    closed = drape.opening == 0.0
    angles = np.linspace(half, 2 * np.pi - half, AROUND, endpoint=not closed)
    sector = np.round((np.mod(angle, 2 * np.pi)) / (2 * np.pi) * AROUND).astype(int) % AROUND
    rows = []
    for height in heights:
        above = (body.vertices[:, 1] >= height - REACH_UP) & (body.vertices[:, 1] <= heights[0] + REACH_UP)
        outline = np.zeros(AROUND)
        np.maximum.at(outline, sector[above], radius[above])
        outline = maximum_filter1d(outline, 2 * BESIDE + 1, mode="wrap")
        outline = gaussian_filter1d(outline, SMOOTH, mode="wrap") + 0.004
        out = np.interp(angles, np.linspace(0, 2 * np.pi, AROUND + 1), np.append(outline, outline[0]))
        out = out + drape.ease + drape.flare * (heights[0] - height)
        points = np.column_stack([np.sin(angles) * out, np.zeros(AROUND), np.cos(angles) * out])
        rows.append(points + np.array([middle[0], height, middle[2]]))
    return Garment.of(drape.name, np.concatenate(rows), _walls(closed))


def _walls(closed: bool) -> np.ndarray:
    """Triangles of the rows, seen from outside."""
    columns = AROUND if closed else AROUND - 1
    row, column = (each.ravel() for each in np.meshgrid(np.arange(DOWN - 1), np.arange(columns), indexing="ij"))
    a, b = row * AROUND + column, row * AROUND + (column + 1) % AROUND
    c, d = a + AROUND, b + AROUND
    return np.concatenate([np.stack([a, c, d], 1), np.stack([a, d, b], 1)])
