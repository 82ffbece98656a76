"""The surface where a sampled field is zero, as quadrilaterals: one vertex per mixed cell, one quad per mixed edge.

This is the dual of marching cubes (surface nets, [Gibson1998]): its quads are even after a few
rounds of smoothing, where marching cubes leaves slivers.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from scipy.ndimage import map_coordinates

from dressform.arrays import Points
from dressform.errors import ArgumentError

Field = Callable[[Points], Float[np.ndarray, " V"]]
Quads = Int[np.ndarray, "F 4"]

PROJECTION_ROUNDS = 4
AMBIGUITY_ROUNDS = 20
STRIDE = 3  # samples between those of the coarse pass
BAND = 1.3  # coarse steps from the surface within which every sample is asked
# The two other axes of each axis, in the order that makes the three right-handed.
ACROSS = ((1, 2), (2, 0), (0, 1))


@dataclass(frozen=True)
class Samples:
    """A field sampled on a box of equal cells, negative inside.

    Attributes:
        values: (X, Y, Z).
        origin: Position of the first sample, (3,), metres.
        spacing: Edge of a cell, metres.
    """

    values: Float[np.ndarray, "X Y Z"]
    origin: Float[np.ndarray, "3"]
    spacing: float

    @classmethod
    def of(
        cls, field: Field, low: Float[np.ndarray, "3"], high: Float[np.ndarray, "3"], *, spacing: float
    ) -> "Samples":
        """Sample `field` over the box from `low` to `high`, rounded outward to whole cells.

        A coarse pass finds where the surface can be; only there is the field evaluated at every sample. This needs a
        field that changes no faster than the distance moved, about.

        Raises:
            ArgumentError: the box is empty.
        """
        if not np.all(high > low):
            raise ArgumentError.of("Samples.of", "high", f"above low {low.tolist()}", f"{high.tolist()}", "Swap them")
        coarse = np.ceil((high - low) / (STRIDE * spacing)).astype(int) + 1
        values = field(_lattice(low, coarse, STRIDE * spacing)).reshape(coarse)
        fine = STRIDE * (coarse - 1) + 1
        points = _lattice(low, fine, spacing)
        guess = map_coordinates(values, ((points - low) / (STRIDE * spacing)).T, order=1, mode="nearest")
        near = np.abs(guess) < BAND * STRIDE * spacing
        guess[near] = field(points[near])
        return cls(guess.reshape(fine), low.astype(float), spacing)

    def at(self, points: Points) -> Float[np.ndarray, " V"]:
        """The field between its samples, trilinear, (V,)."""
        return map_coordinates(self.values, ((points - self.origin) / self.spacing).T, order=1, mode="nearest")

    def gradient(self, points: Points) -> Points:
        """Central differences of the field between its samples, (V, 3)."""
        step = 0.5 * self.spacing
        columns = []
        for axis in range(3):
            offset = np.zeros(3)
            offset[axis] = step
            columns.append((self.at(points + offset) - self.at(points - offset)) / (2 * step))
        return np.stack(columns, axis=1)

    def onto(self, points: Points, *, rounds: int = PROJECTION_ROUNDS) -> Points:
        """`points` moved along the gradient onto the zero surface, at most half a cell a round, (V, 3)."""
        moved = points
        for _ in range(rounds):
            slope = self.gradient(moved)
            size = np.maximum((slope * slope).sum(axis=1), 1e-6)
            step = (self.at(moved) / size)[:, None] * slope
            length = np.linalg.norm(step, axis=1, keepdims=True)
            moved = moved - step * np.minimum(1.0, 0.5 * self.spacing / np.maximum(length, 1e-12))
        return moved


def _lattice(low: Float[np.ndarray, "3"], counts: Int[np.ndarray, "3"], spacing: float) -> Points:
    """Positions of the samples, the last axis fastest, (V, 3)."""
    steps = [low[axis] + spacing * np.arange(counts[axis]) for axis in range(3)]
    return np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, 3)


def zero_surface(samples: Samples) -> tuple[Points, Quads]:
    """Vertices and quads of the zero surface, seen counter-clockwise from the positive side.

    Returns:
        vertices (V, 3) in metres: each the mean of the crossings on its cell's edges; quads (F, 4).
    """
    values = _unambiguous(samples.values)
    inside = values < 0
    total, count = _crossings(values, inside)
    mixed = count > 0
    index = np.full(mixed.shape, -1)
    index[mixed] = np.arange(int(mixed.sum()))
    cells = np.argwhere(mixed)
    local = np.stack([total[axis][mixed] / count[mixed] for axis in range(3)], axis=1)
    vertices = samples.origin + samples.spacing * (cells + local)
    quads = [_quads_along(axis, inside, index) for axis in range(3)]
    return vertices, np.concatenate(quads)


def _unambiguous(values: Float[np.ndarray, "X Y Z"]) -> Float[np.ndarray, "X Y Z"]:
    """The samples with no face of a cell whose signs alternate round it: there two sheets would share an edge.

    The outside corner nearest to the surface is drawn inside, so the two sheets become one.
    """
    values = values.copy()
    for _ in range(AMBIGUITY_ROUNDS):
        changed = False
        for axis in range(3):
            first, second = ACROSS[axis]
            windows = []
            for one, two in ((0, 0), (1, 1), (0, 1), (1, 0)):
                window = [slice(None)] * 3
                window[first], window[second] = slice(one, one - 1 or None), slice(two, two - 1 or None)
                windows.append(values[tuple(window)])
            signs = [window < 0 for window in windows]
            clash = (signs[0] == signs[1]) & (signs[2] == signs[3]) & (signs[0] != signs[2])
            for pair in ((0, 1), (2, 3)):
                outside = clash & ~signs[pair[0]]
                for chosen, other in (pair, pair[::-1]):
                    nearest = outside & (windows[chosen] <= windows[other])
                    windows[chosen][nearest] = -1e-9
            changed |= bool(clash.any())
        if not changed:
            break
    return values


def _crossings(
    values: Float[np.ndarray, "X Y Z"], inside: np.ndarray
) -> tuple[list[Float[np.ndarray, "CX CY CZ"]], Float[np.ndarray, "CX CY CZ"]]:
    """Sum of the local positions at which the edges of each cell cross zero, per axis, and how many there are."""
    shape = tuple(n - 1 for n in values.shape)
    total = [np.zeros(shape) for _ in range(3)]
    count = np.zeros(shape)
    for axis in range(3):
        first, second = ACROSS[axis]
        ends = np.moveaxis(values, axis, 0)
        signs = np.moveaxis(inside, axis, 0)
        changed = np.moveaxis(signs[1:] != signs[:-1], 0, axis)
        gap = ends[:-1] - ends[1:]
        where = np.moveaxis(ends[:-1] / np.where(gap == 0, 1.0, gap), 0, axis)
        for one in (0, 1):
            for two in (0, 1):
                window = [slice(None)] * 3
                window[first] = slice(one, shape[first] + one)
                window[second] = slice(two, shape[second] + two)
                hit = changed[tuple(window)]
                total[axis] += np.where(hit, where[tuple(window)], 0.0)
                total[first] += hit * one
                total[second] += hit * two
                count += hit
    return total, count


def _quads_along(axis: int, inside: np.ndarray, index: np.ndarray) -> Quads:
    """One quad round each grid edge along `axis` whose ends lie on different sides."""
    first, second = ACROSS[axis]
    below, above = [slice(None)] * 3, [slice(None)] * 3
    below[axis], above[axis] = slice(0, -1), slice(1, None)
    inner = [slice(None)] * 3
    inner[first], inner[second] = slice(1, -1), slice(1, -1)
    starts = inside[tuple(below)][tuple(inner)]
    ends = inside[tuple(above)][tuple(inner)]
    edges = np.argwhere(starts != ends)
    edges[:, first] += 1
    edges[:, second] += 1
    corners = []
    for one, two in ((-1, -1), (0, -1), (0, 0), (-1, 0)):
        cell = edges.copy()
        cell[:, first] += one
        cell[:, second] += two
        corners.append(index[tuple(cell.T)])
    quads = np.stack(corners, axis=1)
    outward = starts[starts != ends]
    return np.where(outward[:, None], quads, quads[:, ::-1])
