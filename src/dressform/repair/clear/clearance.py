"""Repair of show-through: the least, smoothest change of base and morph deltas that keeps clearance over the range."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array, diags_array

from dressform.body.range import Range
from dressform.body.stance import Stance
from dressform.fit.fit import Fit
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.laplacian import cotangent
from dressform.mesh.topology import components
from dressform.proof.at_stance import StanceCase
from dressform.proof.certificate import crossing_sheets, rounding_slack, touching_faces
from dressform.proof.linear_mesh import LinearMesh, linear_cloth
from dressform.repair.clear.clear_stances import StanceOutcome, clear_stances, stance_repair
from dressform.repair.clear.clearance_case import ClearanceCase, moved_fit, with_new
from dressform.repair.clear.programme import Solution, solve
from dressform.repair.correctives.bends import without_strong
from dressform.repair.correctives.correct import Corrections, correct_bends

HELD = 1e9  # weight of a vertex that does not follow against one that does
BEND_LENGTH = 0.10  # metres; changes shorter than this cost bending, the pucker of the change
PIECE_SHARE = 0.25  # no longer than this share of the extent (root of the area) of a garment's mean piece
STRETCH_LENGTH = 0.02  # metres; changes shorter than this cost stretch
CORRECTIVE_STRETCH = 0.03  # metres; the same for corrective targets: their moves are large and local
BASE_PRICE = 4.0  # moving the base costs this many times moving a delta by as much
MIN_AREA = 0.02  # share of the median vertex area that every vertex weighs at least
MAX_ROUNDS = 12
GAINING = 0.9  # a round gains while it lowers what falls short, summed over the pairs, below this share of the least
PATIENCE = 3  # rounds without gain after which what still falls short is left and reported
CONFLICT_CAP = 5.0  # metres; a constraint gives way if its pull would move its vertex alone farther than this


@dataclass(frozen=True)
class Clearance:
    """A repaired fit, with the cost and the pairs that still fall short.

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
        left_alone: Cloth faces not repaired: they touch or enter the body at the base, or do not follow, (F,).
        solution: The last programme's solution with its residuals; None where nothing fell short.
        stances: What it came to at each stance without a strong bend.
        corrections: Corrective targets for strong bends, and what these came to; None where no stance bends strongly.
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
    stances: tuple[StanceOutcome, ...] = ()
    corrections: Corrections | None = None


def keep_clear(
    fit: Fit,
    obstacle: LinearMesh,
    *,
    box: Range | None = None,
    base_price: float = BASE_PRICE,
    keep_base: bool = False,
    bend_length: float = BEND_LENGTH,
    max_rounds: int = MAX_ROUNDS,
    stances: Sequence[Stance] = (),
    correctives: bool = True,
    divide: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Clearance:
    """Move base and deltas as little and as smoothly as possible so that cloth and body stay apart over the range.

    Each round gathers the near pairs, takes for each the fixed direction along which its box minimum is largest, adds
    the corners that fall short as constraints (cutting planes), and solves one convex programme for the whole change
    from the original fit. It ends when no pair falls short, when rounds bring no gain, or after `max_rounds`.

    The maker's own fit is respected. Cloth nearer than the margin at the base keeps a share of its own distance
    instead. Faces that touch the body there are left in place and only kept from going deeper. Faces that do not
    follow (strength 0) are left alone. Nothing pulls an opening shut.

    Args:
        fit: The fit to repair; its following sets the clearance to keep.
        obstacle: The body as a moving mesh, or joined with the layers under the cloth.
        box: The range, by default the body's; the base body is always included.
        base_price: Price of base moves against delta moves.
        keep_base: Whether only deltas move. What the base would have to yield then falls short, and is reported.
        bend_length: Length below which a change counts as puckering, metres; shorter on small pieces, such as gloves.
        max_rounds: Most rounds to run.
        stances: Stances at which the cloth must keep off its own skin too, once it is clear at rest.
        correctives: Whether strong bends get targets that joints drive, and ask nothing of base and deltas.
        divide: Whether pairs that dividing the range proves apart ask for nothing, too; it moves less and takes longer.
        progress: Called with the round and the number of pairs that fall short.

    Proof: tests/repair/test_clearance.py
    """
    margin = fit.following.margin
    box = (fit.body.range if box is None else box).with_base()
    start = linear_cloth(fit)
    slack = rounding_slack(start, box) + rounding_slack(obstacle, box)
    still = fit.garment.strength <= 0
    left_alone = touching_faces(start, obstacle) | still[fit.garment.faces].any(axis=1)
    case = ClearanceCase(fit, start, obstacle, box, left_alone, crossing_sheets(start, obstacle), margin, slack, divide)
    energy, mass = change_energy(fit, bend_length=bend_length)
    price = np.inf if keep_base else base_price
    state = first = best = case.stand(fit, None, np.zeros(0, dtype=np.int64))
    held, rounds, idle = state.pairs[:0], 0, 0
    while rounds < max_rounds and idle < PATIENCE and not state.ends(best):
        best = state if state.settled else min(state, best, key=lambda one: one.short)
        held = with_new(held, state.pairs, len(obstacle.faces))
        rows, keys = case.cutting_planes(state.cloth, held, state.priced)
        solution = solve(
            energy, mass, rows, box.low, box.high, base_price=price, cap=CONFLICT_CAP, start=state.warm(keys)
        )
        rounds += 1
        state = case.stand(moved_fit(fit, solution), solution, keys)
        idle = 0 if state.settled or state.short < GAINING * best.short else idle + 1
        if progress is not None:
            progress(rounds, len(state.pairs))
    end = state if state.settled else min(best, state, key=lambda one: one.short)
    told: tuple[StanceOutcome, ...] = ()
    corrections: Corrections | None = None
    if stances:
        gentle = without_strong(fit, stances) if correctives else stances
        if gentle:
            ready = StanceCase(end.fit, obstacle, box, touching_faces(end.cloth, obstacle))
            over = stance_repair(case, ready, gentle, energy, mass, base_price=price)
            end, told = clear_stances(over, end, held, progress=progress)
        if len(gentle) < len(stances):
            ready = StanceCase(end.fit, obstacle, box, touching_faces(end.cloth, obstacle))
            taut, _ = change_energy(fit, bend_length=bend_length, stretch_length=CORRECTIVE_STRETCH)
            corrections = correct_bends(ready, stances, taut, mass, progress=progress)
            end = replace(end, fit=corrections.fit)
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
        told,
        corrections,
    )


def change_energy(
    fit: Fit, *, bend_length: float = BEND_LENGTH, stretch_length: float = STRETCH_LENGTH
) -> tuple[csr_array, Float[np.ndarray, " G"]]:
    """Energy of a change of the cloth, (G, G), and the lumped areas, (G,).

    M + s² K + b⁴ K M⁻¹ K: how far, how stretched (s), how bent (b). It acts on the change alone, so that pleats, hems
    and style cost nothing; the last term is the pucker of the change [Botsch2004]. Vertices that do not follow
    (strength 0) are held in place.
    """
    stiffness = cotangent(fit.garment.vertices, fit.garment.faces)
    areas = vertex_areas(fit.garment.vertices, fit.garment.faces)
    used = areas[areas > 0]
    mass = np.maximum(areas, MIN_AREA * float(np.median(used)) if used.size else 1.0)
    pieces = len(np.unique(components(fit.garment.faces, len(areas))[areas > 0])) if used.size else 1
    bend_length = min(bend_length, PIECE_SHARE * float(np.sqrt(areas.sum() / pieces)))
    bend = stiffness @ diags_array(1.0 / mass) @ stiffness
    held = np.where(fit.garment.strength > 0, mass, HELD * mass)
    return csr_array(diags_array(held) + stretch_length**2 * stiffness + bend_length**4 * bend), mass
