"""Repair of hard parts: buttons, buckles and shoes move as one stiff piece with the cloth that they sit on."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothDeltas, ClothPoints
from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.faults.broken import bend
from dressform.fit.corrective import Corrective
from dressform.fit.fit import Fit
from dressform.garment.garment import Garment
from dressform.garment.parts import HARD_EXTENT, find_pieces, seam_pairs
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.nearest import closest
from dressform.mesh.topology import components
from dressform.mesh.tree import Tree
from dressform.repair.cost import Cost, cost_of, shapes_of_cost
from dressform.repair.whole.rigid import Motion, fit_motion, longest

SEAT_REACH = 0.015  # metres; cloth no farther than this from a hard part is what it sits on


@dataclass(frozen=True)
class HardPart:
    """One stiff piece: its motion and the errors of that motion.

    Attributes:
        name: Name of the garment's part that it belongs to.
        vertices: Its vertices, (N,).
        motion: How it moves, one linearised rigid motion per morph.
        seated: Whether it sits on cloth; a piece that does not, such as a shoe, follows its own mean motion.
        size_error: Largest lengthening over the range, a share of length: √(1 + θ²) − 1 for the largest turn θ.
        seat_error: Largest change of the distance between a vertex and the cloth under it, over the base body and
            the ends of every morph's interval, metres; 0 for a piece that sits on no cloth.
        bend_before: Largest departure of a vertex from the piece's best similarity before the repair, over the same
            shapes, metres.
        bend_after: The same after it.
        scale_before: Largest share by which that similarity is larger or smaller than the piece before the repair.
        scale_after: The same after it.
    """

    name: str
    vertices: Int[np.ndarray, " N"]
    motion: Motion
    seated: bool
    size_error: float
    seat_error: float
    bend_before: float
    bend_after: float
    scale_before: float
    scale_after: float


@dataclass(frozen=True)
class HardParts:
    """A fit whose hard parts are stiff, with their motions, the cost and the remaining errors.

    Attributes:
        fit: The repaired fit; the one given where there is no hard part.
        parts: The hard parts, by their lowest vertex.
        cost: What it cost.
        size_error: Largest of the parts': what a straight path of a turning part cannot avoid.
        seat_error: Largest of the parts': where the cloth bends under a part that does not.
    """

    fit: Fit
    parts: tuple[HardPart, ...]
    cost: Cost
    size_error: float
    seat_error: float


def keep_rigid(
    fit: Fit,
    *,
    parts: Sequence[str] | None = None,
    box: Range | None = None,
    detect: bool = True,
    hard_extent: float = HARD_EXTENT,
    seat_reach: float = SEAT_REACH,
) -> HardParts:
    """Let every hard part move by the linearised rigid motion that is nearest to that of the cloth under it.

    Under each vertex of the part lies a point of the cloth, the closest; shift and turn are fitted to how these
    points move, so the part stays seated. A scale is left out, so it keeps its size; what a turn θ by a straight path
    lengthens is reported. The base body stays as it is where nothing has moved it, else the part is put back onto
    its cloth by a true rotation.

    Args:
        fit: The fit to repair.
        parts: Names of the garment's parts that are hard, by default those of the fit's following. Each
            connected piece of one is stiff by itself.
        box: The range, by default the body's.
        detect: Whether small closed pieces are taken for hard, too.
        hard_extent: Length of the longest piece that is taken for hard, metres.
        seat_reach: Farther cloth is not what a part sits on, metres.

    Raises:
        ArgumentError: a name is no part of this garment; its parts are listed.

    Proof: tests/repair/test_hard_parts.py::test_a_button_on_turning_cloth_turns_with_it
    """
    box = fit.body.range if box is None else box
    parts = fit.following.hard if parts is None else parts
    labels = hard_pieces(fit.garment, parts=parts, detect=detect, hard_extent=hard_extent)
    pieces = [np.flatnonzero(labels == piece) for piece in range(int(labels.max(initial=-1)) + 1)]
    if not pieces:
        return HardParts(fit, (), cost_of(fit, fit, box=box), 0.0, 0.0)
    base, deltas = fit.base.copy(), fit.deltas.copy()
    seats = _Seats.under(fit.garment, labels >= 0, seat_reach)
    stiff = [_stiffened(fit, seats, piece, base, deltas) for piece in pieces]
    correctives = tuple(_stiff_corrective(one, seats, pieces) for one in fit.correctives)
    repaired = replace(fit, base=base, deltas=deltas, correctives=correctives)
    told = tuple(_told(fit, repaired, box, seats, piece, *found) for piece, found in zip(pieces, stiff))
    return HardParts(
        repaired,
        told,
        cost_of(fit, repaired, box=box),
        max(part.size_error for part in told),
        max(part.seat_error for part in told),
    )


def hard_pieces(
    garment: Garment, *, parts: Sequence[str] = (), detect: bool = True, hard_extent: float = HARD_EXTENT
) -> Int[np.ndarray, " G"]:
    """Number of the hard piece that each vertex belongs to, -1 where the cloth is soft, (G,). See `keep_rigid`.

    Pieces that meet in vertices that coincide are one piece.
    """
    unknown = [name for name in parts if name not in garment.part_names]
    if unknown:
        raise ArgumentError.of(
            "keep_rigid",
            "parts",
            f"parts of {garment.name!r}: {', '.join(garment.part_names)}",
            repr(unknown[0]),
            "Use these",
        )
    hard = find_pieces(garment, hard_extent=hard_extent).hard_vertices() & detect
    named = np.isin(garment.face_parts, [garment.part_names.index(name) for name in parts])
    hard[garment.faces[named]] = True
    stiff, seams = garment.faces[hard[garment.faces].all(axis=1)], seam_pairs(garment.vertices)
    seams = seams[hard[seams].all(axis=1)]
    # A seam within a hard part is a triangle whose third corner is one of its ends: it connects, and no more.
    labels = components(np.concatenate([stiff, seams[:, [0, 1, 1]]]), len(hard))
    _, numbered = np.unique(labels[hard], return_inverse=True)
    pieces = np.full(len(hard), -1, dtype=np.int64)
    pieces[hard] = numbered
    return pieces


@dataclass(frozen=True)
class _Seats:
    """The cloth under every hard vertex at the base, as its maker modelled it: corners (G, 3) and shares.

    Where there is none within reach, `found` is false and the vertex stands for itself.
    """

    corners: Int[np.ndarray, "G 3"]
    shares: Float[np.ndarray, "G 3"]
    found: Bool[np.ndarray, " G"]
    areas: Float[np.ndarray, " G"]

    @classmethod
    def under(cls, garment: Garment, hard: Bool[np.ndarray, " G"], reach: float) -> "_Seats":
        """Closest points on the soft cloth."""
        count = len(hard)
        corners, shares = np.repeat(np.arange(count)[:, None], 3, axis=1), np.full((count, 3), 1 / 3)
        found = np.zeros(count, dtype=bool)
        areas = np.maximum(vertex_areas(garment.vertices, garment.faces), np.finfo(float).tiny)
        soft = ~hard[garment.faces].any(axis=1)
        asked = np.flatnonzero(hard)
        if soft.any():
            tree = Tree(garment.vertices, garment.faces[soft])
            nearest = closest(tree, garment.vertices[asked], within=reach)
            met = nearest.faces >= 0
            corners[asked[met]] = tree.faces[nearest.faces[met]]
            shares[asked[met]], found[asked[met]] = nearest.barycentric[met], True
        return cls(corners, shares, found, areas)

    def of(self, piece: Int[np.ndarray, " N"]) -> Int[np.ndarray, " M"]:
        """The vertices of a piece that have cloth under them; all of them where none has."""
        return piece[self.found[piece]] if self.found[piece].any() else piece

    def read(self, field: Float[np.ndarray, "K G 3"], vertices: Int[np.ndarray, " N"]) -> Float[np.ndarray, "K N 3"]:
        """A field of the cloth at the seats of some vertices."""
        return np.einsum("knjx,nj->knx", field[:, self.corners[vertices]], self.shares[vertices])


def _stiffened(
    fit: Fit, seats: _Seats, piece: Int[np.ndarray, " N"], base: ClothPoints, deltas: ClothDeltas
) -> tuple[Motion, bool]:
    """Write the stiff motion of one piece into `base` and `deltas`; return it, and whether the piece sits on cloth."""
    sitting = seats.of(piece)
    areas = seats.areas[sitting]
    made, stands = (seats.read(points[None], sitting)[0] for points in (fit.garment.vertices, fit.base))
    if (fit.base[piece] != fit.garment.vertices[piece]).any() or (stands != made).any():
        base[piece] = placed(made, stands, areas, fit.garment.vertices[piece])
    motion = fit_motion(stands, areas, seats.read(fit.deltas, sitting), stretch=False)
    deltas[:, piece] = motion.moves(base[piece])
    return motion, bool(seats.found[piece].any())


def _stiff_corrective(one: Corrective, seats: _Seats, pieces: Sequence[Int[np.ndarray, " N"]]) -> Corrective:
    """A corrective target that shifts each stiff piece as a whole, by the mean of the cloth under it."""
    delta = one.delta.copy()
    for piece in pieces:
        sitting = seats.of(piece)
        areas = seats.areas[sitting]
        delta[piece] = areas @ seats.read(one.delta[None], sitting)[0] / areas.sum()
    return replace(one, delta=delta)


def placed(
    made: Float[np.ndarray, "M 3"],
    stands: Float[np.ndarray, "M 3"],
    areas: Float[np.ndarray, " M"],
    points: Float[np.ndarray, "N 3"],
) -> Float[np.ndarray, "N 3"]:
    """Points carried by the rotation and shift that best take `made` to `stands`. Source: [Kabsch1976]."""
    before, after = areas @ made / areas.sum(), areas @ stands / areas.sum()
    left, _, right = np.linalg.svd((areas[:, None] * (stands - after)).T @ (made - before))
    signs = np.array([1.0, 1.0, 1.0 if np.linalg.det(left @ right) > 0 else -1.0])
    return after + (points - before) @ ((left * signs) @ right).T


def _told(
    before: Fit, after: Fit, box: Range, seats: _Seats, piece: Int[np.ndarray, " N"], motion: Motion, seated: bool
) -> HardPart:
    """The report on one piece."""
    sitting = seats.of(piece)

    def distances(places: ClothPoints) -> Float[np.ndarray, " M"]:
        return np.linalg.norm(places[sitting] - seats.read(places[None], sitting)[0], axis=1)

    made = before.garment.vertices
    shapes = shapes_of_cost(box)
    rooms = distances(made)
    changes = [np.abs(distances(after.at(shape)) - rooms).max() for shape in shapes] if seated else [0.0]
    before_after = [[bend(made[piece], fit.at(shape)[piece]) for shape in shapes] for fit in (before, after)]
    bends = [max(float(each.distances.max()) for each in found) for found in before_after]
    scales = [max(abs(each.scale - 1.0) for each in found) for found in before_after]
    size = float(np.hypot(1.0, longest(motion.turns, box)) - 1.0)
    part = before.garment.part_names[int(before.garment.vertex_parts()[piece[0]])]
    return HardPart(part, piece, motion, seated, size, float(max(changes)), *bends, *scales)
