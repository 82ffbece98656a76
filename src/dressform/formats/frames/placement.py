"""How a garment lies on a body in one reading of its file, to tell right readings from wrong ones."""

from dataclasses import dataclass

import numpy as np

from dressform.body.body import Body
from dressform.formats.file_mesh import FileMesh
from dressform.formats.frames.standing import STOCKY
from dressform.formats.frames.units import Frame
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree

SAMPLES = 400

NEAR_SHARES, NEAREST = (2, 10), 0.06
"""So many percent of a garment that is worn lie nearer to the skin than this, of stature: the tenth of most, a rim of
wings or of a hoop skirt."""

MEDIAN_NEAR = (0.35, 0.25)
"""Half of it lies nearer to the skin than this, of stature, in the same order."""

SOUGHT_NEAR = 0.12
"""A stricter bound of the median distance for a reading that nobody stated, of stature."""

INSIDE_COST = 5.0
"""A point inside the body counts as this many times as far from the skin."""

CLEARLY_NEARER = 1.6
"""A reading that nobody stated must cost less than all others by this factor."""

FAR_BETTER, MUCH_INSIDE = 3.0, 0.1
"""Where another reading costs less than the stated one by this factor, and no more than this share more of the cloth
lies inside, the user is asked."""

FAR_LESS_INSIDE = 0.25
"""So, too, where `MUCH_INSIDE` lies inside as stated, less than this share of it otherwise, and the cost is clearly
less: a garment that is turned against its body."""

HEADS = 7.0
"""A person is so many times as tall as a head (drawing practice, no source); where the body is a head alone, what it
wears is measured by that person."""


@dataclass(frozen=True)
class Placement:
    """How a garment lies on the body in one reading.

    Attributes:
        size: Its longest side, of stature.
        nearest: Distances to the skin within which its nearest `NEAR_SHARES` lie, of stature.
        median: Median distance to the skin, of stature.
        inside: Share of it inside the body.
        cost: Mean distance, a point inside counted `INSIDE_COST` times as far, as a share of its own size.
    """

    size: float
    nearest: tuple[float, float]
    median: float
    inside: float
    cost: float

    @property
    def is_worn(self) -> bool:
        """Whether most garments may lie so, if a file says so, whatever its size."""
        return self.nearest[1] <= NEAREST and self.median <= MEDIAN_NEAR[1]

    @property
    def is_attached(self) -> bool:
        """Whether some garment may lie so: its rim near the skin, the rest standing off."""
        return self.nearest[0] <= NEAREST and self.median <= MEDIAN_NEAR[0]

    @property
    def is_sought(self) -> bool:
        """Whether it may lie so, though no file says so, whatever its size."""
        return self.is_worn and self.median <= SOUGHT_NEAR

    def is_far_better(self, than: "Placement") -> bool:
        """Whether this is so much better than what a file states that the user must be asked."""
        if self.cost * FAR_BETTER < than.cost and self.inside <= than.inside + MUCH_INSIDE:
            return True
        less_inside = than.inside >= MUCH_INSIDE and self.inside <= FAR_LESS_INSIDE * than.inside
        return less_inside and self.cost * CLEARLY_NEARER < than.cost


class Placements:
    """How a garment lies on a body in any reading, each measured once."""

    def __init__(self, stored: FileMesh, body: Body, tree: Tree | None) -> None:
        used = np.unique(stored.faces)
        chosen = used[np.linspace(0, len(used) - 1, min(SAMPLES, len(used))).astype(np.int64)]
        self.points, self.stature = stored.vertices[chosen], _whole_stature(body)
        self.longest = float(np.ptp(stored.vertices[used], axis=0).max())
        self.tree = tree or Tree(body.vertices, body.faces)
        self._known: dict[Frame, Placement] = {}

    def at(self, frame: Frame) -> Placement:
        """How it lies in one reading."""
        if frame not in self._known:
            self._known[frame] = self._measure(frame)
        return self._known[frame]

    def size(self, frame: Frame) -> float:
        """Its longest side in one reading, of stature."""
        return self.longest * frame.metres_per_unit / self.stature

    def _measure(self, frame: Frame) -> Placement:
        signed, found = signed_clearance(self.tree, self.points @ frame.linear.T)
        away = found.distances / self.stature
        inside = signed < 0
        size = self.size(frame)
        cost = float(np.mean(np.where(inside, INSIDE_COST, 1.0) * away)) / size
        rim, tenth = np.percentile(away, NEAR_SHARES)
        return Placement(size, (float(rim), float(tenth)), float(np.median(away)), float(np.mean(inside)), cost)


def _whole_stature(body: Body) -> float:
    """How tall the person is whose body it is, metres: more than a head alone."""
    wide, tall, deep = np.ptp(body.vertices[np.unique(body.faces)], axis=0)
    return float(tall) * (HEADS if min(wide, deep) > STOCKY * tall else 1.0)
