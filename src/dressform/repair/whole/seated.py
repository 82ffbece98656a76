"""Seats a stiff end on its finger or toe: the motion that departs least from its form and room all the way there."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, VertexScalars
from dressform.fit.fit import Fit
from dressform.lift.turns import turns_between
from dressform.mesh.geometry import vertex_areas, vertex_normals
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from dressform.repair.whole.rigid import Turned

WAY = (0.25, 0.5, 0.75, 1.0)
"""Shares of the farthest weight at which an end is looked at."""
FORM, ROOM, LACK, FACING = 0.15, 0.0035, 0.0002, 0.2
"""What counts as 1: stretch, change of clearance and clearance that is missing, metres, turn from the skin, radians."""
KEPT = 0.0015
"""Clearance that is missed where there was as much at the base, metres."""
ROUNDS, ENOUGH = 25, 1e-3
"""Steps at most; it ends where one takes away a smaller share than this."""
START = 0.5
"""The steps start at so much of the motion: nearer to it there are many minima, each a poorer one."""
DAMPING, EASIER, HARDER, HARDEST = 1e-3, 1.0 / 3.0, 5.0, 1e3
"""Of the steps: at first, after one that helps, after one that does not, and where it gives up."""
TURNS_ONLY = 1e-6
"""A map whose stretches differ from 1 by less than this is a turn."""
PAIRS = np.triu_indices(3)

Terms = tuple[Float[np.ndarray, " R"], Float[np.ndarray, "R 12"]]
"""Terms whose squares are summed, and their derivatives by the nine entries of a map and the three of a shift."""


@dataclass(frozen=True)
class StiffEnd:
    """The cloth of one end under one morph, and the skin on the way to the morph's farthest weight.

    Attributes:
        points: Its vertices at the base, (N, 3), metres.
        spokes: The same from the centre of its motion, (N, 3), metres.
        shares: Share of each in its area, (N,).
        clearance: Of each at the base, metres, (N,).
        normals: Of each at the base, (N, 3).
        skin: The body's triangles at each step of the way.
        facing: Where the cloth would face there if it turned with the skin under it, and if it followed smoothly.
    """

    points: ClothPoints
    spokes: ClothPoints
    shares: VertexScalars
    clearance: VertexScalars
    normals: ClothPoints
    skin: tuple[Tree, ...]
    facing: tuple[Float[np.ndarray, "2 N 3"], ...]

    def terms(self, motion: Float[np.ndarray, " 12"]) -> Terms:
        """Everything by which a motion departs from form and room, as terms to be squared and summed.

        With M = I + s A at the share s of the way and C = MᵀM: the strain ¼ (C − C⁻¹) over `FORM`, ½ sinh 2 ln of each
        principal stretch, and the change of clearance over `ROOM`, both to the fourth power, so that the worst counts;
        what is missing of clearance over `LACK`, squared; and, squared, the part of Mᵀ n' across n over `FACING`, n'
        being where the cloth should face.

        Proof: tests/repair/test_seated.py::test_derivatives_are_those_of_finite_differences
        """
        parts = [part for step in range(len(WAY)) for part in self._at(motion, step)]
        return np.concatenate([values for values, _ in parts]), np.concatenate([slopes for _, slopes in parts])

    def _at(self, motion: Float[np.ndarray, " 12"], step: int) -> Iterator[Terms]:
        way, each = WAY[step], 1.0 / len(WAY)
        turned = np.eye(3) + way * motion[:9].reshape(3, 3)
        yield _fourth(np.full(len(PAIRS[0]), each), *_strain(turned, way))
        yield self._facing(turned, way, self.facing[step])
        moved = self.points + way * (self.spokes @ motion[:9].reshape(3, 3).T + motion[9:])
        clearance, found = signed_clearance(self.skin[step], moved)
        outward = (moved - found.points) / np.where(clearance == 0.0, np.inf, clearance)[:, None]
        by_map = (outward[:, :, None] * self.spokes[:, None, :]).reshape(-1, 9)
        slopes = way * np.concatenate([by_map, outward], axis=1)
        change, weights = clearance - self.clearance, each * self.shares
        lack = np.minimum(clearance - np.minimum(self.clearance, KEPT), 0.0)
        yield _fourth(weights, change / ROOM, slopes / ROOM)
        yield _second(weights, lack / LACK, (lack < 0.0)[:, None] * slopes / LACK)

    def _facing(self, turned: Float[np.ndarray, "3 3"], way: float, facing: Float[np.ndarray, "2 N 3"]) -> Terms:
        """How far the cloth turns from where it should face: by the nearer of both."""
        back = facing @ turned
        along = np.einsum("tnx,nx->tn", back, self.normals) / np.linalg.norm(back, axis=2)
        nearer = np.argmax(along, axis=0)
        nodes = np.arange(len(nearer))
        there, back = facing[nearer, nodes], back[nearer, nodes]
        across = np.eye(3) - self.normals[:, :, None] * self.normals[:, None, :]
        values = np.einsum("nij,nj->ni", across, back)
        slopes = np.zeros((len(nearer), 3, 12))
        slopes[:, :, :9] = way * np.einsum("nik,nj->nijk", across, there).reshape(-1, 3, 9)
        weights = np.repeat(self.shares / len(WAY), 3)
        return _second(weights, values.ravel() / FACING, slopes.reshape(-1, 12) / FACING)


def seated(
    fit: Fit,
    motion: Turned,
    *,
    core: Bool[np.ndarray, " G"],
    morphs: Bool[np.ndarray, " K"],
    far: Float[np.ndarray, " K"],
    tree: Tree,
) -> Turned:
    """A motion with its turns seated: the form is kept along the way, not at its end alone, and the skin stays inside.

    Cloth that moves straight to where a turn by θ takes it is shorter by 1 − cos ½θ half-way, a quarter at 1.5 radians,
    and a finger that bends in a stiff stall comes through it. So the end of the way is given up a little: the map
    and the shift are found for which `StiffEnd.terms` have the least sum of squares.

    Args:
        fit: The fit.
        motion: Motion of the cloth, one map per morph; maps that are no turns at `far` stay as they are.
        core: Cloth that moves so, (G,).
        morphs: On which morphs it does, (K,).
        far: The weight at the end of each morph's way, (K,).
        tree: The body's triangles.

    Source: our own, by damped Gauss–Newton steps [Marquardt1963]. Proof: tests/repair/test_seated.py
    """
    maps, shifts = motion.maps.copy(), motion.shifts.copy()
    for morph in np.flatnonzero(morphs):
        turned = np.eye(3) + far[morph] * maps[morph]
        if np.abs(turned.T @ turned - np.eye(3)).max() > TURNS_ONLY:
            continue
        end = stiff_end(fit, motion.centre, np.flatnonzero(core), far[morph], int(morph), tree)
        start = far[morph] * np.concatenate([maps[morph].ravel(), shifts[morph]])
        found = _least(end, start) / far[morph]
        maps[morph], shifts[morph] = found[:9].reshape(3, 3), found[9:]
    return replace(motion, maps=maps, shifts=shifts)


def stiff_end(
    fit: Fit, centre: Float[np.ndarray, "3"], core: Int[np.ndarray, " N"], far: float, morph: int, tree: Tree
) -> StiffEnd:
    """The cloth of an end and the skin on the way of one morph; arguments are those of `seated`."""
    body, faces = fit.body, fit.garment.faces
    clearance, found = signed_clearance(tree, fit.base[core])
    normals = vertex_normals(fit.base, faces)[core]
    areas = np.maximum(vertex_areas(fit.base, faces)[core], np.finfo(float).tiny)
    skin, facing = [], []
    for way in WAY:
        moved = body.vertices + way * far * body.deltas[morph]
        skin.append(tree.refit(moved))
        smooth = vertex_normals(fit.base + way * far * fit.deltas[morph], faces)[core]
        turns = turns_between(body.vertices, moved, body.faces[found.faces])
        facing.append(np.stack([np.einsum("nij,nj->ni", turns, normals), smooth]))
    spokes, shares = fit.base[core] - centre, areas / areas.sum()
    return StiffEnd(fit.base[core], spokes, shares, clearance, normals, tuple(skin), tuple(facing))


def _least(end: StiffEnd, start: Float[np.ndarray, " 12"]) -> Float[np.ndarray, " 12"]:
    """The motion with the least sum of squares on the way to a given one; never a larger sum than that has."""
    motion, damping = START * start, DAMPING
    values, slopes = end.terms(motion)
    for _ in range(ROUNDS):
        square, slope = slopes.T @ slopes, slopes.T @ values
        damped = square + damping * np.diag(np.diag(square)) + np.finfo(float).eps * np.trace(square) * np.eye(12)
        step = motion - np.linalg.solve(damped, slope)
        new = end.terms(step)
        gain = float(values @ values - new[0] @ new[0])
        if gain > 0.0:
            is_last = gain < ENOUGH * float(values @ values)
            motion, (values, slopes), damping = step, new, damping * EASIER
            if is_last:
                break
        elif (damping := damping * HARDER) > HARDEST:
            break
    given = end.terms(start)[0]
    return motion if values @ values <= given @ given else start


def _strain(turned: Float[np.ndarray, "3 3"], way: float) -> Terms:
    """The six entries of ¼ (C − C⁻¹) over `FORM`, those off the diagonal √2 fold, so that squares sum to its norm."""
    twice = np.where(PAIRS[0] == PAIRS[1], 1.0, np.sqrt(2.0)) / FORM
    square = turned.T @ turned
    inverse = np.linalg.inv(square)
    slopes = np.zeros((6, 12))
    for entry in range(9):
        one = np.zeros(9)
        one[entry] = way
        half = turned.T @ one.reshape(3, 3)
        change = half + half.T
        slopes[:, entry] = twice * (0.25 * (change + inverse @ change @ inverse))[PAIRS]
    return twice * (0.25 * (square - inverse))[PAIRS], slopes


def _fourth(
    weights: Float[np.ndarray, " R"], values: Float[np.ndarray, " R"], slopes: Float[np.ndarray, "R 12"]
) -> Terms:
    """Terms whose squares are weights × values⁴."""
    root = np.sqrt(weights)
    return root * values * np.abs(values), (2.0 * root * np.abs(values))[:, None] * slopes


def _second(
    weights: Float[np.ndarray, " R"], values: Float[np.ndarray, " R"], slopes: Float[np.ndarray, "R 12"]
) -> Terms:
    """Terms whose squares are weights × values²."""
    root = np.sqrt(weights)
    return root * values, root[:, None] * slopes
