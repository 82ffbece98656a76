"""Linearised motions of stiff things: shift, small turn, even stretch; linear in what they are fitted to."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.body.range import Range

MIN_SPREAD = 1e-6  # share of the points' spread below which a direction says nothing about a turn
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
