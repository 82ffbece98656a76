"""The worst shapes: the few corners of the range that threaten the most covered skin.

Body and cloth are both affine in the weights, so the clearance of a pair of points along a fixed direction is too:
f(w) = f⁰ + Σ w_k f_k. Its minimum over the range is closed-form, and so is the corner where it is reached. What one
shape threatens, Σ area · max(0, margin − f(w)), is a convex function of w, so its maximum is reached at a corner as
well; from any corner, the corner that its own gradient points to threatens at least as much. That ascent, started at
the minimisers of the most threatened points, finds in milliseconds what random shapes do not find in minutes.
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import BodyPoints, ClothPoints, Faces, Weights
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shapes import Shape
from dressform.fit.fit import Fit
from dressform.mesh.geometry import barycentric, face_normals, vertex_areas, vertex_normals
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree

DEFAULT_WORST = 8
REACH = 0.15
"""Cloth farther from the skin than this, along the skin's normal, does not cover it, metres."""

SUNK = 0.01
"""Cloth that lies this deep under the skin at the base still belongs to it, metres."""

SAMPLE = 2000
"""The search uses at most this many threatened points; the figures of its corners are taken from all of them."""

STARTS = 24
ASCENTS = 12
FLIPPED = 3
FLIPS = 16
"""The ascent starts at this many corners and takes at most this many steps; this many of the best are then improved by
moving single weights, at most this many."""

MIN_GAIN = 0.01
"""A further corner must add this share of what all chosen corners threaten together."""

NEAR_DEEPEST = 0.95
"""The point that can go deepest must go this share of its depth at one of the chosen corners."""


@dataclass(frozen=True)
class Covered:
    """Pairs of a body vertex and the cloth over it, with their clearance as a function of the weights.

    Attributes:
        areas: Skin around each body vertex at the base, (N,), m².
        base: Clearance at weight 0 along the skin's normal, (N,), metres.
        slopes: Change of clearance per unit of each weight, (K, N), metres.
    """

    areas: Float[np.ndarray, " N"]
    base: Float[np.ndarray, " N"]
    slopes: Float[np.ndarray, "K N"]

    def at(self, weights: Float[np.ndarray, "S K"]) -> Float[np.ndarray, "S N"]:
        """Clearance of every pair at each of several shapes, (S, N), metres."""
        return self.base + weights @ self.slopes


@dataclass(frozen=True)
class Threat:
    """A corner of the range, with its figures from the closed form.

    Attributes:
        shape: The corner, labelled `worst 1`, `worst 2`, ...
        min_clearance: Smallest clearance of a threatened point there, or of any where none is threatened, metres;
            negative: the cloth is predicted inside.
        threatened_area: Skin whose clearance there is under the margin, and under that of the base body, m².
    """

    shape: Shape
    min_clearance: float
    threatened_area: float


def covered_points(fit: Fit, *, reach: float = REACH, at: Weights | None = None) -> Covered:
    """Every body vertex under the cloth, paired along its normal with the point of the cloth over it.

    Cloth counts as over the skin where the vertex's normal, or the opposite for cloth that has sunk in up to 1 cm,
    meets it from inside; a sleeve seen from the hip does not.

    Args:
        fit: The garment on its body.
        reach: How far over the skin cloth covers it, metres.
        at: Shape on which points are paired, (K,); the base if left out. Clearances are those at weight 0 all the same.
    """
    body = fit.body
    skin, worn = (body.vertices, fit.base) if at is None else (body.at(at), fit.at(at))
    pairs = paired(body, skin, fit.garment.faces, worn, reach)
    slopes = np.zeros((len(body.morph_names), len(pairs.skin)))
    for morph, (cloth, way) in enumerate(zip(fit.deltas, body.deltas)):
        slopes[morph] = pairs.along(cloth, way)
    start = pairs.distances if at is None else pairs.distances - at @ slopes
    return Covered(vertex_areas(skin, body.faces)[pairs.skin], start, slopes)


@dataclass(frozen=True)
class Pairs:
    """Body vertices, each with the point of the cloth over it.

    Attributes:
        skin: The body vertices, (N,).
        corners: Cloth vertices round each point, (N, 3).
        shares: Its share of each, (N, 3).
        ways: Unit normal of the skin, (N, 3).
        distances: From the skin to the cloth along it, metres, (N,).
    """

    skin: Int[np.ndarray, " N"]
    corners: Int[np.ndarray, "N 3"]
    shares: Float[np.ndarray, "N 3"]
    ways: Float[np.ndarray, "N 3"]
    distances: Float[np.ndarray, " N"]

    def along(self, cloth: ClothPoints, body: BodyPoints) -> Float[np.ndarray, " N"]:
        """A field of the cloth minus one of the body at each pair, along the normal, (N,)."""
        apart = np.einsum("nc,ncx->nx", self.shares, cloth[self.corners]) - body[self.skin]
        return np.einsum("nx,nx->n", apart, self.ways)


def paired(body: Body, skin: BodyPoints, faces: Faces, worn: ClothPoints, reach: float) -> Pairs:
    """The pairs of `covered_points`: skin and cloth where they are, metres."""
    normals = vertex_normals(skin, body.faces)
    tree = Tree(worn, faces)
    outward = face_normals(worn, faces)
    out = first_hit(tree, skin, normals, far=reach)
    sunk = first_hit(tree, skin, -normals, far=SUNK)
    hit = np.where(out.faces >= 0, out.faces, sunk.faces)
    distance = np.where(out.faces >= 0, out.distances, -sunk.distances)
    cosine = np.einsum("bi,bi->b", normals, outward[hit])
    # Cloth may be modelled inside out; its own majority shows which side is meant to be outward.
    facing = np.sign(np.sum(np.sign(cosine[hit >= 0])) or 1.0)
    chosen = np.flatnonzero((hit >= 0) & (facing * cosine > 0))
    corners = faces[hit[chosen]]
    where = skin[chosen] + distance[chosen, None] * normals[chosen]
    return Pairs(chosen, corners, barycentric(where, worn[corners]), normals[chosen], distance[chosen])


def worst_shapes(fit: Fit, *, most: int = DEFAULT_WORST, covered: Covered | None = None) -> list[Threat]:
    """The corners of the body's range that threaten the most covered skin, the gravest first.

    The threat is Σ area · (depth under the margin), with the margin that the garment's following asks for. Each further
    corner is the one that adds most to the threat of those before it, until the gain is negligible. A point under the
    margin at the base counts from its own clearance there. Where no corner brings any point under the margin, the one
    with the smallest clearance is returned.

    Args:
        fit: The garment on its body, whose range limits the weights.
        most: Most corners to return.
        covered: The pairs, if already built.

    Proof: tests/sweep/test_worst.py::test_the_first_corner_threatens_as_much_as_the_best_of_all_corners
    """
    pairs = covered_points(fit) if covered is None else covered
    if most < 1 or not len(pairs.areas) or not fit.morph_names:
        return []
    box = fit.body.range
    start = pairs.at(box.clip(np.zeros(len(box.names)))[None])[0]
    allowed = np.minimum(fit.following.margin, start)
    least = box.minimum(pairs.base, pairs.slopes)
    threatened = np.flatnonzero(least < allowed)
    if not threatened.size:
        corner = np.where(box.minimiser(pairs.slopes[:, [int(np.argmin(least))]]), box.high, box.low)
        return [_threat(1, corner[0], pairs, allowed)]
    # A point that stays above its bound on every shape never counts, so the search forgets it.
    depths = (allowed - least)[threatened]
    picked, areas = _sample(pairs.areas[threatened], depths)
    picked = threatened[picked]
    near = Covered(areas, pairs.base[picked], pairs.slopes[:, picked])
    corners = _chosen_corners(box, near, allowed[picked], least[picked], most)
    return [_threat(number, corner, pairs, allowed) for number, corner in enumerate(corners, 1)]


def _sample(
    areas: Float[np.ndarray, " N"], depths: Float[np.ndarray, " N"]
) -> tuple[Int[np.ndarray, " M"], Float[np.ndarray, " M"]]:
    """Points that represent all others in the search, and the area that each represents.

    Where there are many, each sampled point represents the same share of area times depth: a systematic sample.
    """
    if len(areas) <= SAMPLE:
        return np.arange(len(areas)), areas
    threat = np.cumsum(areas * depths)
    each = float(threat[-1]) / SAMPLE
    picked = np.searchsorted(threat, each * (np.arange(SAMPLE) + 0.5))
    return picked, each / depths[picked]


def _chosen_corners(
    box: Range,
    pairs: Covered,
    allowed: Float[np.ndarray, " N"],
    least: Float[np.ndarray, " N"],
    most: int,
) -> list[Float[np.ndarray, " K"]]:
    """Corners in the order in which they add most to the depth that is already threatened."""
    corners = _starts(box, pairs, pairs.areas * (allowed - least))
    reached = np.zeros(len(pairs.areas))
    chosen: list[Float[np.ndarray, " K"]] = []
    total = 0.0
    while len(chosen) < most:
        climbed, gains = _climb(box, pairs, allowed, reached, corners)
        leaders = climbed[np.argsort(-gains, kind="stable")[:FLIPPED]]
        flipped = np.array([_flip(box, pairs, allowed, reached, corner) for corner in leaders])
        gains = _added(pairs, allowed, reached, flipped)
        best = int(np.argmax(gains))
        total += float(gains[best])
        if gains[best] <= MIN_GAIN * total:
            break
        chosen.append(flipped[best])
        reached = np.maximum(reached, allowed - pairs.at(flipped[[best]])[0])
    # Area drives the search above; the deepest single point gets its own corner where none has come near it.
    deepest = int(np.argmax(allowed - least))
    if len(chosen) < most and reached[deepest] < NEAR_DEEPEST * (allowed - least)[deepest]:
        chosen.append(np.where(box.minimiser(pairs.slopes[:, [deepest]])[0], box.high, box.low))
    return chosen


def _starts(box: Range, pairs: Covered, threat: Float[np.ndarray, " N"]) -> Float[np.ndarray, "S K"]:
    """Minimising corners of the points, one per pattern of ends, those that threaten most together first, (S, K)."""
    ends = box.minimiser(pairs.slopes)
    patterns, of_point = np.unique(np.packbits(ends, axis=1), axis=0, return_inverse=True)
    order = np.argsort(-np.bincount(of_point.ravel(), weights=threat, minlength=len(patterns)), kind="stable")
    bits = np.unpackbits(patterns[order[:STARTS]], axis=1, count=len(box.names)).astype(bool)
    return np.where(bits, box.high, box.low)


def _climb(
    box: Range,
    pairs: Covered,
    allowed: Float[np.ndarray, " N"],
    reached: Float[np.ndarray, " N"],
    corners: Float[np.ndarray, "S K"],
) -> tuple[Float[np.ndarray, "C K"], Float[np.ndarray, " C"]]:
    """From each corner to one that adds at least as much beyond `reached`; those corners, each once, and what they add.

    What is added, Σ area · max(0, allowed − f(w) − reached), is convex in w: it lies above its tangent, so the corner
    at which the tangent is largest adds no less than the corner at which the tangent was taken.
    """
    for _ in range(ASCENTS):
        counts = (allowed - pairs.at(corners) > reached) * pairs.areas
        uphill = -counts @ pairs.slopes.T
        moved = np.where(uphill > 0, box.high, np.where(uphill < 0, box.low, corners))
        if np.array_equal(moved, corners):
            break
        corners = moved
    corners = np.unique(corners, axis=0)
    return corners, _added(pairs, allowed, reached, corners)


def _flip(
    box: Range,
    pairs: Covered,
    allowed: Float[np.ndarray, " N"],
    reached: Float[np.ndarray, " N"],
    corner: Float[np.ndarray, " K"],
) -> Float[np.ndarray, " K"]:
    """The corner reached by moving one weight at a time to its other end, as long as that adds more."""
    for _ in range(FLIPS):
        other = box.low + box.high - corner
        clearance = pairs.at(corner[None])[0] + (other - corner)[:, None] * pairs.slopes
        gains = np.maximum(allowed - clearance - reached, 0.0) @ pairs.areas
        best = int(np.argmax(gains))
        if gains[best] <= (1 + 1e-9) * _added(pairs, allowed, reached, corner[None])[0]:
            break
        corner = np.where(np.arange(len(corner)) == best, other, corner)
    return corner


def _added(
    pairs: Covered,
    allowed: Float[np.ndarray, " N"],
    reached: Float[np.ndarray, " N"],
    corners: Float[np.ndarray, "C K"],
) -> Float[np.ndarray, " C"]:
    """The threat of each corner beyond `reached`, area times depth, m³."""
    return np.maximum(allowed - pairs.at(corners) - reached, 0.0) @ pairs.areas


def _threat(number: int, corner: Float[np.ndarray, " K"], pairs: Covered, allowed: Float[np.ndarray, " N"]) -> Threat:
    """A corner with its figures from the closed form."""
    clearance = pairs.at(corner[None])[0]
    threatened = clearance < allowed
    least = clearance[threatened] if threatened.any() else clearance
    return Threat(Shape(f"worst {number}", corner), float(least.min()), float(pairs.areas[threatened].sum()))
