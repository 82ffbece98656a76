"""Repair of show-through: the least, smoothest change of base and morph deltas that keeps clearance over the range."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array, diags_array

from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.mesh.geometry import vertex_areas, vertex_normals
from dressform.mesh.laplacian import cotangent
from dressform.mesh.nearest import closest
from dressform.mesh.topology import components
from dressform.mesh.tree import Tree
from dressform.proof.certificate import base_gaps, bounds_of, crossing_sheets, rounding_slack, touching_faces, without
from dressform.proof.moving import Moving, moving_cloth
from dressform.proof.pairs import near_pairs
from dressform.repair.programme import Constraints, Solution, solve

DEFAULT_MARGIN = 0.002  # metres
HELD = 1e9  # weight of a vertex that does not follow against one that does
KEPT_SHARE = 0.3  # cloth nearer than the margin on the base shape keeps this share of what its maker left
BEND_LENGTH = 0.10  # metres; changes shorter than this cost bending, the crumple of the change
PIECE_SHARE = 0.25  # no longer than this share of the extent (root of the area) of a garment's mean piece
STRETCH_LENGTH = 0.02  # metres; changes shorter than this cost stretch
BASE_PRICE = 4.0  # moving the base costs this many times moving a delta by as much
LEAST_AREA = 0.02  # share of the median vertex area that every vertex weighs at least
ASKED_MORE = (
    1e-4  # metres; constraints ask for this much more than is checked, so that later rounds meet new pairs only
)
NEARLY = 5e-4  # metres; corners this near to falling short are held too
MOST_ROUNDS = 12
SAVING = 0.95  # once nothing falls short, rounds go on while each lowers the energy below this share of the last
CONFLICT_CAP = 5.0  # metres; a constraint that pulls harder than to move its vertex alone this far gives way


@dataclass(frozen=True)
class Clearance:
    """A repaired fit, what it cost and what is left.

    Attributes:
        fit: The repaired fit.
        rounds: Times that near pairs were gathered and the programme solved.
        constraints: Constraints in the last programme.
        base_move: Largest and root-mean-square move of the base, metres.
        delta_move: Largest move of each morph's delta at the far end of its interval, (K,), metres.
        short_before: Near pairs that fell short of the margin before the repair.
        conflicts: Pairs (cloth face, body face) that still fall short, (N, 2).
        conflict_depth: By how much each does, (N,), metres.
        conflict_morphs: The morph that costs each of them most, -1 for a body without morphs, (N,).
        left_alone: Cloth faces not repaired: they touch or enter the body on the base shape, or do not follow, (F,).
        solution: The last programme's solution with its residuals; None where nothing fell short.
    """

    fit: Fit
    rounds: int
    constraints: int
    base_move: tuple[float, float]
    delta_move: Float[np.ndarray, " K"]
    short_before: int
    conflicts: Int[np.ndarray, "N 2"]
    conflict_depth: Float[np.ndarray, " N"]
    conflict_morphs: Int[np.ndarray, " N"]
    left_alone: Bool[np.ndarray, " F"]
    solution: Solution | None


def keep_clear(
    fit: Fit,
    body: Moving,
    box: Range,
    *,
    margin: float = DEFAULT_MARGIN,
    base_price: float = BASE_PRICE,
    bend_length: float = BEND_LENGTH,
    most_rounds: int = MOST_ROUNDS,
    progress: Callable[[int, int], None] | None = None,
) -> Clearance:
    """Move base and deltas as little and as smoothly as possible so that cloth and body stay apart over the range.

    Each round gathers the near pairs, takes for each the fixed direction along which its box minimum is largest, adds
    the corners that fall short as constraints (cutting planes), and solves one convex programme for the whole change
    from the original fit. It ends when no pair falls short, or after `most_rounds`.

    What the maker left is respected: cloth nearer than the margin on the base shape keeps a share of its own distance
    instead, faces that touch the body there are left as they lie and only go no deeper, those that do not follow
    (strength 0) are left alone, and nothing pulls an opening shut.

    Args:
        fit: The fit to repair.
        body: The body as a moving mesh, or joined with the layers under the cloth.
        box: The range; the base shape is always included.
        margin: Clearance wanted, metres, positive.
        base_price: Price of base moves against delta moves.
        bend_length: Length below which a change counts as crumpling, metres; shorter on small pieces, such as gloves.
        progress: Called with the round and the number of pairs that fall short.

    Raises:
        ArgumentError: `margin` is not positive.

    Proof: tests/repair/test_clearance.py
    """
    if not margin > 0:
        raise ArgumentError.of("keep_clear", "margin", "positive metres", f"{margin:g}", "Give at least 0.0005")
    box = box.with_base()
    start = moving_cloth(fit)
    slack = rounding_slack(start, box) + rounding_slack(body, box)
    still = fit.garment.strength <= 0
    left_alone = touching_faces(start, body) | still[fit.garment.faces].any(axis=1)
    case = _Case(fit, start, body, box, left_alone, crossing_sheets(start, body), margin, slack)
    energy, mass = change_energy(fit, bend_length=bend_length)
    state = first = best = case.stand(fit, None, np.zeros(0, dtype=np.int64))
    held, rounds = state.pairs[:0], 0
    while rounds < most_rounds and not state.ends(best):
        best = state if state.settled else best
        held = _with_new(held, state.pairs, len(body.faces))
        rows, keys = case.cutting_planes(state.cloth, held, state.priced)
        solution = solve(
            energy, mass, rows, box.low, box.high, base_price=base_price, cap=CONFLICT_CAP, start=state.warm(keys)
        )
        rounds += 1
        state = case.stand(_moved(fit, solution), solution, keys)
        if progress is not None:
            progress(rounds, len(state.pairs))
    end = state if state.settled or not best.settled else best
    moved = np.linalg.norm(end.fit.base - fit.base, axis=1)
    reach = np.maximum(np.abs(box.low), np.abs(box.high))
    return Clearance(
        end.fit,
        rounds,
        0 if end.solution is None else len(end.solution.multipliers),
        (float(moved.max()), float(np.sqrt(np.mean(moved**2)))),
        reach * np.linalg.norm(end.fit.deltas - fit.deltas, axis=2).max(axis=1, initial=0.0),
        len(first.pairs),
        end.pairs,
        end.depth,
        case.costliest_morphs(end),
        case.left_alone,
        end.solution,
    )


@dataclass(frozen=True)
class _State:
    """Where the repair stands: the fit so far and the pairs (P, 2) that fall short, by how much and along what.

    `keys` name the constraints of `solution`, so that the next programme can start from their forces.
    """

    fit: Fit
    cloth: Moving
    solution: Solution | None
    keys: Int[np.ndarray, " R"]
    pairs: Int[np.ndarray, "P 2"]
    depth: Float[np.ndarray, " P"]
    directions: Float[np.ndarray, "P 3"]

    @property
    def settled(self) -> bool:
        """Whether no pair falls short."""
        return len(self.pairs) == 0

    @property
    def priced(self) -> Int[np.ndarray, " N"]:
        """Keys of the constraints that the last programme leant on."""
        return self.keys[:0] if self.solution is None else self.keys[self.solution.multipliers > 0]

    def warm(self, keys: Int[np.ndarray, " R"]) -> tuple[Float[np.ndarray, "G M 3"], Float[np.ndarray, "R M 3"]] | None:
        """Moves so far, and the forces of those of the constraints `keys` that were there before."""
        if self.solution is None:
            return None
        forces = np.zeros((len(keys), *self.solution.forces.shape[1:]))
        _, old, new = np.intersect1d(self.keys, keys, assume_unique=True, return_indices=True)
        forces[new] = self.solution.forces[old]
        return self.solution.moves, forces

    def ends(self, best: "_State") -> bool:
        """Whether another round is not worth it: nothing falls short, and the last one saved little."""
        if not self.settled:
            return False
        if self.solution is None:
            return True
        return best.solution is not None and best.settled and self.solution.energy > SAVING * best.solution.energy


@dataclass(frozen=True)
class _Case:
    """What stays the same over all rounds."""

    fit: Fit
    start: Moving
    body: Moving
    box: Range
    left_alone: Bool[np.ndarray, " F"]
    crossing: Int[np.ndarray, "N 2"]
    margin: float
    slack: float

    def needed(self, pairs: Int[np.ndarray, "P 2"]) -> Float[np.ndarray, " P"]:
        """The gap that each pair must keep: the margin, or a share of what its maker left, (P,), metres."""
        return np.minimum(self.margin, KEPT_SHARE * base_gaps(self.start, self.body, pairs)) + self.slack

    def stand(self, fit: Fit, solution: Solution | None, keys: Int[np.ndarray, " R"]) -> _State:
        """Gather the near pairs of a fit and keep those that fall short."""
        cloth = moving_cloth(fit)
        pairs = near_pairs(cloth, self.body, self.box, margin=self.margin + self.slack)
        pairs = without(pairs[~self.left_alone[pairs[:, 0]]], self.crossing)
        bounds, directions = bounds_of(cloth, self.body, pairs, self.box)
        depth = self.needed(pairs) - bounds
        short = depth > 0
        return _State(fit, cloth, solution, keys, pairs[short], depth[short], directions[short])

    @cached_property
    def placed(self) -> Constraints:
        """Cloth that its maker placed in the skin goes no deeper: one constraint per vertex of what is left alone.

        Along the skin's normal at the foot, the signed distance over the range may not fall below that of the base.
        """
        vertex = np.unique(self.start.faces[self.left_alone])
        vertex = vertex[self.fit.garment.strength[vertex] > 0]
        solid = Tree(self.body.tree.vertices, self.body.solid_faces)
        foot = closest(solid, self.start.terms[vertex, 0])
        normals = vertex_normals(solid.vertices, solid.faces)[solid.faces[foot.faces]]
        direction = np.einsum("qc,qcx->qx", foot.barycentric, normals)
        direction /= np.maximum(np.linalg.norm(direction, axis=1, keepdims=True), 1e-12)
        skin = np.einsum("qc,qcmx->qmx", foot.barycentric, self.body.terms[solid.faces[foot.faces]])
        terms = np.einsum("qmx,qx->qm", self.start.terms[vertex] - skin, direction)
        return Constraints(vertex, direction, terms, terms[:, 0].copy())

    def cutting_planes(
        self, cloth: Moving, pairs: Int[np.ndarray, "P 2"], priced: Int[np.ndarray, " N"]
    ) -> tuple[Constraints, Int[np.ndarray, " R"]]:
        """Constraints for the corners of each pair's cloth triangle against the body corner that comes nearest.

        Only corners that fall short, or nearly, are in, and those that the last programme leant on: without these,
        cloth that a better direction shows to be clear falls back in every second round. The rest would cost time and
        hold nothing. Keys number them by pair and corner. The direction of a pair is the best one for the cloth as it
        is now: it is found anew in every round, since a direction that served cloth still in the way may later hold it
        off sideways for nothing.
        """
        _, directions = bounds_of(cloth, self.body, pairs, self.box)
        needed = self.needed(pairs) + ASKED_MORE
        corners = self.body.faces[pairs[:, 1]]
        along_body = [np.einsum("pmx,px->pm", self.body.terms[corners[:, j]], directions) for j in range(3)]
        pieces, keys = [], []
        for i in range(3):
            vertex = cloth.faces[pairs[:, 0], i]
            now = np.einsum("pmx,px->pm", cloth.terms[vertex], directions)
            least = np.stack([self.box.minimum((now - along)[:, 0], (now - along)[:, 1:].T) for along in along_body])
            leant_on = np.isin(3 * np.arange(len(pairs)) + i, priced)
            rows = np.flatnonzero(leant_on | (least.min(axis=0) < needed + NEARLY))
            nearest = np.choose(np.argmin(least, axis=0)[:, None], along_body)[rows]
            terms = np.einsum("pmx,px->pm", self.start.terms[vertex[rows]], directions[rows]) - nearest
            pieces.append((vertex[rows], directions[rows], terms, needed[rows]))
            keys.append(3 * rows + i)
        placed = self.placed
        pieces.append((placed.vertex, placed.direction, placed.terms, placed.needed))
        keys.append(-1 - placed.vertex)
        return Constraints(*(np.concatenate(column) for column in zip(*pieces))), np.concatenate(keys)

    def costliest_morphs(self, state: _State) -> Int[np.ndarray, " P"]:
        """The morph that takes most clearance from each pair that falls short, judged at the triangles' centres.

        -1 where the body has no morphs.
        """
        cloth = state.cloth.terms[state.cloth.faces[state.pairs[:, 0]]].mean(axis=1)
        body = self.body.terms[self.body.faces[state.pairs[:, 1]]].mean(axis=1)
        slopes = np.einsum("pmx,px->pm", (cloth - body)[:, 1:], state.directions)
        if not slopes.shape[1]:
            return np.full(len(slopes), -1)
        return np.argmin(np.minimum(self.box.low * slopes, self.box.high * slopes), axis=1)


def change_energy(fit: Fit, *, bend_length: float = BEND_LENGTH) -> tuple[csr_array, Float[np.ndarray, " G"]]:
    """Energy of a change of the cloth, (G, G), and the lumped areas, (G,).

    M + s² K + b⁴ K M⁻¹ K: how far, how stretched (s), how bent (b). It acts on the change alone, so that pleats, hems
    and style cost nothing; the last term is the crumple of the change [Botsch2004]. Vertices that do not follow
    (strength 0) are held in place.
    """
    stiffness = cotangent(fit.garment.vertices, fit.garment.faces)
    areas = vertex_areas(fit.garment.vertices, fit.garment.faces)
    used = areas[areas > 0]
    mass = np.maximum(areas, LEAST_AREA * float(np.median(used)) if used.size else 1.0)
    pieces = len(np.unique(components(fit.garment.faces, len(areas))[areas > 0])) if used.size else 1
    bend_length = min(bend_length, PIECE_SHARE * float(np.sqrt(areas.sum() / pieces)))
    bend = stiffness @ diags_array(1.0 / mass) @ stiffness
    held = np.where(fit.garment.strength > 0, mass, HELD * mass)
    return csr_array(diags_array(held) + STRETCH_LENGTH**2 * stiffness + bend_length**4 * bend), mass


def _with_new(held: Int[np.ndarray, "H 2"], short: Int[np.ndarray, "S 2"], width: int) -> Int[np.ndarray, "N 2"]:
    """The pairs held so far, in their order, then those that are new."""
    new = ~np.isin(short[:, 0] * width + short[:, 1], held[:, 0] * width + held[:, 1])
    return np.concatenate([held, short[new]])


def _moved(fit: Fit, solution: Solution) -> Fit:
    """The original fit with the moves of a solution added."""
    return replace(
        fit, base=fit.base + solution.moves[:, 0], deltas=fit.deltas + solution.moves[:, 1:].transpose(1, 0, 2)
    )
