"""Linearised motions of stiff things: shift, small turn, even stretch; linear in what they are fitted to."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.body.range import Range

MIN_SPREAD = 1e-6  # share of the points' spread below which a direction says nothing about a turn
LARGE_TURN = 0.4  # radians; a turn linearised at this makes things larger by 8 %
TIED = 1e-12  # share of the longest product below which a turn counts as square to a direction


@dataclass(frozen=True)
class Motion:
    """One linearised motion per morph: p moves by shift + turn × (p − centre) + stretch (p − centre).

    Attributes:
        centre: What it turns about, metres.
        shifts: Move of the centre, (K, 3), metres.
        turns: Axis times angle, (K, 3), radians.
        stretches: Lengthening per length, (K,); 0 where the size is kept.
    """

    centre: Float[np.ndarray, "3"]
    shifts: Float[np.ndarray, "K 3"]
    turns: Float[np.ndarray, "K 3"]
    stretches: Float[np.ndarray, " K"]

    def moves(self, points: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "K N 3"]:
        """Displacement of each point by each morph, metres."""
        spokes = points - self.centre
        turned = np.cross(self.turns[:, None], spokes[None])
        return self.shifts[:, None] + turned + self.stretches[:, None, None] * spokes


def fit_motion(
    points: Float[np.ndarray, "N 3"],
    shares: Float[np.ndarray, " N"],
    moves: Float[np.ndarray, "K N 3"],
    *,
    stretch: bool,
) -> Motion:
    """The motion nearest to the moves of some points in the least squares sense, weighted by `shares`.

    About the weighted mean the three parts do not mix: the shift is the mean move; the turn solves
    (Σ a (|r|² − r rᵀ)) ω = Σ a r × d; the stretch is Σ a r·d / Σ a |r|². A turn that the points do not show, as that
    about the line they lie on, is left out. Linear in `moves`.

    Args:
        points: Where they lie at the base, metres.
        shares: Weight of each, not negative, with a positive sum.
        moves: Displacement of each by each morph, metres.
        stretch: Whether the size may change.

    Source: normal equations of the linearised similarity, our own. Proof: tests/repair/test_rigid.py
    """
    total = shares.sum()
    centre = shares @ points / total
    spokes = points - centre
    shifts = np.einsum("n,knx->kx", shares, moves) / total
    spread = float(shares @ (spokes**2).sum(axis=1))
    inertia = spread * np.eye(3) - (shares[:, None] * spokes).T @ spokes
    swept = np.einsum("n,knx->kx", shares, np.cross(spokes[None], moves))
    turns = swept @ np.linalg.pinv(inertia, rcond=MIN_SPREAD, hermitian=True)
    stretches = np.zeros(len(moves))
    if stretch and spread > 0:
        stretches = np.einsum("n,nx,knx->k", shares, spokes, moves) / spread
    return Motion(centre, shifts, turns, stretches)


@dataclass(frozen=True)
class Turned:
    """One motion per morph that keeps lengths at the end of the morph's interval, however far it turns.

    Attributes:
        centre: What it turns about, metres.
        shifts: Move of the centre, (K, 3), metres.
        maps: What is added to a spoke p − centre, per length of it, (K, 3, 3).
    """

    centre: Float[np.ndarray, "3"]
    shifts: Float[np.ndarray, "K 3"]
    maps: Float[np.ndarray, "K 3 3"]

    def moves(self, points: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "K N 3"]:
        """Displacement of each point by each morph, metres."""
        return self.shifts[:, None] + np.einsum("kij,nj->kni", self.maps, points - self.centre)


def fit_turned(
    points: Float[np.ndarray, "N 3"],
    shares: Float[np.ndarray, " N"],
    moves: Float[np.ndarray, "K N 3"],
    far: Float[np.ndarray, " K"],
) -> Turned:
    """The motion nearest to the moves of some points: of a large turn the turn itself, else the linearised similarity.

    A linearised turn makes things larger, and a similarity fitted to one makes them smaller: by a third at a right
    angle. So where the best rotation at the weight `far` is more than `LARGE_TURN`, a morph's map is (R − I) / far. In
    between, on the straight way there, things are smaller than at both ends, as the skin is.

    Args:
        points: Where they lie at the base, metres.
        shares: Weight of each, not negative, with a positive sum.
        moves: Displacement of each by each morph, metres.
        far: The weight at which the form is kept, for each morph; not 0 where it moves anything.

    Source: [Kabsch1976]. Proof: tests/repair/test_rigid.py::test_a_right_angle_is_found_as_it_is_and_keeps_every_length
    """
    linear = fit_motion(points, shares, moves, stretch=True)
    maps = linear.stretches[:, None, None] * np.eye(3) + np.cross(linear.turns[:, None], np.eye(3)).transpose(0, 2, 1)
    spokes = points - linear.centre
    for morph, weight in enumerate(far):
        ends = spokes + weight * (moves[morph] - linear.shifts[morph])
        left, _, right = np.linalg.svd((shares[:, None] * ends).T @ spokes)
        signs = np.array([1.0, 1.0, 1.0 if np.linalg.det(left @ right) > 0 else -1.0])
        rotation = (left * signs) @ right
        if np.arccos(np.clip(0.5 * (np.trace(rotation) - 1.0), -1.0, 1.0)) > LARGE_TURN:
            maps[morph] = (rotation - np.eye(3)) / weight
    return Turned(linear.centre, linear.shifts, maps)


def longest(vectors: Float[np.ndarray, "K 3"], box: Range) -> float:
    """Largest length of Σ_k w_k vectors_k over the range: exact, without visiting its 2^K corners.

    The sums fill a zonotope; the length is convex, so a corner of it is farthest. A corner is the sum that reaches
    farthest along some direction u, where the sign of u · vectors_k decides at which end each w_k is. This sign changes
    where u is perpendicular to a vector. So each corner is met next to a u that is perpendicular to two of them, on one
    side or the other of each: about 4 K² sums.

    Source: arrangement of great circles, our own. Proof: tests/repair/test_rigid.py, against all corners
    """
    if not len(vectors):
        return 0.0
    first, second = (index.ravel() for index in np.meshgrid(*2 * [np.arange(len(vectors))]))
    square = np.cross(vectors[first], vectors[second])
    tangent = np.cross(square, vectors[first])
    best = 0.0
    for side in (1.0, -1.0):
        for turn in (1.0, -1.0):
            asked = _first_of(vectors, (side * square, turn * tangent, vectors[first]))
            opposite = _first_of(vectors, (side * square, turn * tangent, -vectors[first]))
            for signs in (asked, opposite):
                sums = np.where(signs > 0, box.high, box.low) @ vectors
                best = max(best, float((sums**2).sum(axis=1).max()))
    return float(np.sqrt(best))


def _first_of(
    vectors: Float[np.ndarray, "K 3"], directions: tuple[Float[np.ndarray, "P 3"], ...]
) -> Float[np.ndarray, "P K"]:
    """Product of each vector with the first of the directions that it is not perpendicular to."""
    products = np.zeros((len(directions[0]), len(vectors)))
    lengths = np.linalg.norm(vectors, axis=1)
    for direction in directions:
        along = direction @ vectors.T
        told = np.abs(along) > TIED * np.linalg.norm(direction, axis=1, keepdims=True) * lengths
        products = np.where((products == 0) & told, along, products)
    return products
