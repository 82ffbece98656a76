"""A body in every stance, small, side by side: a look shows whether joints were turned as meant."""

from collections.abc import Callable, Sequence

import numpy as np

from dressform.body.body import Body
from dressform.body.stance import Stance, carry
from dressform.errors import ArgumentError
from dressform.report.pictures.camera import from_direction
from dressform.report.pictures.picture import PAPER, below, beside, lettered
from dressform.report.pictures.raster import SKIN, Drawable, Image, draw

PANEL = (260, 320)
COLUMNS = 6
AZIMUTH, ELEVATION = 25.0, 8.0
ROOM = 1.08
LONGEST_TITLE = 21
MODELLED = "as modelled"


def stance_sheet(body: Body, stances: Sequence[Stance], *, progress: Callable[[int, int], None] | None = None) -> Image:
    """The body as modelled, then in each stance, from its left front, each filling its panel.

    Raises:
        ArgumentError: there are stances, but the body has no joints or joint weights.
    """
    if stances and (body.skin is None or body.skeleton is None):
        rule = "of joints and joint weights"
        raise ArgumentError.of("stance_sheet", "body", rule, f"{body.name!r} without", "Leave stances out")
    panels = [_panel(body, body.vertices, MODELLED)]
    for number, stance in enumerate(stances, start=1):
        assert body.skin is not None
        assert body.skeleton is not None
        panels.append(_panel(body, carry(stance.maps(body.skin, body.skeleton), body.vertices), stance.name))
        if progress is not None:
            progress(number, len(stances))
    columns = min(COLUMNS, len(panels))
    panels += [np.full_like(panels[0], PAPER[0])] * (-len(panels) % columns)
    return below([beside(panels[start : start + columns]) for start in range(0, len(panels), columns)])


def _panel(body: Body, points: np.ndarray, title: str) -> Image:
    """One stance."""
    low, high = points.min(axis=0), points.max(axis=0)
    camera = from_direction(
        (low + high) / 2, azimuth=AZIMUTH, elevation=ELEVATION, height=ROOM * float((high - low).max())
    )
    short = title if len(title) <= LONGEST_TITLE else f"{title[: LONGEST_TITLE - 1]}…"
    return lettered(draw([Drawable(points, body.faces, SKIN)], camera, PANEL), short)
