"""The contact sheet: every garment at a glance, the worst first."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dressform.report.pictures.picture import PAPER, below, beside, lettered
from dressform.report.pictures.raster import Image

SHEET_COLUMNS = 4


@dataclass(frozen=True)
class Tile:
    """One garment of the sheet.

    Attributes:
        title: Name and verdict.
        images: Small pictures of one height, side by side.
    """

    title: str
    images: tuple[Image, ...]


def contact_sheet(tiles: Sequence[Tile], *, columns: int = SHEET_COLUMNS) -> Image:
    """Tiles in rows; the last row is padded with blank space."""
    pictures = [lettered(beside(tile.images), tile.title) for tile in tiles]
    empty = np.full_like(pictures[0], PAPER[0])
    columns = min(columns, len(pictures))
    pictures += [empty] * (-len(pictures) % columns)
    return below([beside(pictures[start : start + columns]) for start in range(0, len(pictures), columns)])
