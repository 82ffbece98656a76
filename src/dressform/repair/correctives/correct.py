"""Corrective targets for strong bends: the least displacement, driven by joints, that keeps cloth off its own skin."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array
from scipy.spatial import cKDTree

from dressform.arrays import Weights
from dressform.body.stance import Stance
from dressform.fit.corrective import Corrective
from dressform.fit.fit import Fit
from dressform.proof.at_stance import StanceCase
from dressform.proof.linear_mesh import linear_cloth
from dressform.repair.clear.clearance_case import both
from dressform.repair.clear.programme import Constraints, Solution, solve
from dressform.repair.clear.stance_planes import ROOM, StancePlanes, StanceState
from dressform.repair.correctives.bends import (
    StrongBend,
    batches,
    bend_places,
    driver_of,
    shares_of,
    stances_of,
    strong_bends,
)
from dressform.repair.correctives.under import demands_on, threatening_corners

MOST_ROUNDS = 6
GAINING = 0.9
"""Rounds go on while each brings what falls short below this share of the least before."""
PATIENCE = 2
"""Rounds without gain after which what still falls short is left and told."""
CAP = 5.0
"""A demand gives way if its pull would move its vertex alone farther than this, metres."""
MOST_STEPS = 300
TOO_DEEP = 0.05
"""What falls short by more than this is not asked for, metres."""
BLUR = 0.01
"""Between two bends the displacement passes from one target to the other over about this length, metres."""
SPARSE = 2e-5
"""Every displacement is shortened by this, and what is shorter vanishes: most of the cloth is in no target, metres."""
STRIDE, CORNER = 2**44, 2**41
"""Keys of one stance's demands lie in an interval of the one length, those of one shape there in one of the other."""
AT_WORK = 1e-3
"""What a stance gets less of than this share of is not asked for."""
NEAR = 0.3
"""Cloth farther from the joints of a bend is not looked at on single shapes, metres."""
NAME = "corrective "
"""Names of targets begin with this; the name of the joint follows."""


@dataclass(frozen=True)
class Corrected:
    """What one target came to.

    Attributes:
        name: Its name.
        joint: Name of the joint that drives it.
        stances: At which stances it is at work.
        largest_move: Farthest that it moves a vertex at value 1, metres.
        vertices: Vertices that it moves.
    """

    name: str
    joint: str
    stances: tuple[str, ...]
    largest_move: float
    vertices: int


@dataclass(frozen=True, eq=False)
class CorrectedStance:
    """How the cloth stood at a stance before its targets and with them.

    Attributes:
        stance: Its name.
        short_before: Pairs with own skin, and vertices under it, that fell short.
        depth_before: The most that any fell short, metres.
        short_after: How many do now.
        depth_after: The most that any does, metres.
    """

    stance: str
    short_before: int
    depth_before: float
    short_after: int
    depth_after: float


@dataclass(frozen=True, eq=False)
class Corrections:
    """A fit with its corrective targets.

    Attributes:
        fit: The fit; base and morph deltas are as they were.
        targets: What each target came to, the one that moves farthest first: so they stand in the file.
        stances: How each strong bend stood and stands.
    """

    fit: Fit
    targets: tuple[Corrected, ...]
    stances: tuple[CorrectedStance, ...]


def correct_bends(
    case: StanceCase,
    stances: Sequence[Stance],
    energy: csr_array,
    mass: Float[np.ndarray, " G"],
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Corrections:
    """Give a fit the corrective targets that its strong bends need.

    Base and morph deltas stay. Unknown is one displacement C of the modelled pose per joint and side, at work by the
    value φ that its driver has at a stance: demands are those of the repair over stances, A_cᵀ n · (φ C) among them.
    Morphs enter with their least over the range, so what is solved for holds at every shape. Bends that a stance has
    at once are solved for together, and each target gets the displacement near its own joint.

    Args:
        case: The fit, repaired at rest and at its other stances.
        stances: All stances; those without strong bends keep the targets still, as far as their joints allow.
        energy: Energy of a change.
        mass: Area of each vertex.
        progress: Called with the round and the number of pairs that fall short.

    Proof: tests/repair/correctives/test_correct.py
    """
    assert case.fit.body.skeleton is not None
    skeleton, fit = case.fit.body.skeleton, case.fit
    targets: list[Corrective] = []
    told: list[CorrectedStance] = []
    at: dict[str, tuple[str, ...]] = {}
    for batch in batches(strong_bends(skeleton, stances)):
        mine = stances_of(batch)
        others = [one for number, one in enumerate(stances) if number not in mine]
        here = replace(case, fit=replace(fit, correctives=tuple(targets)))
        work = _Batch(here, batch, [stances[number] for number in mine], others)
        moves, outcome = work.solved(energy, mass, progress)
        told += outcome
        for corrective, bend in zip(work.targets(moves), batch):
            if corrective.lengths.any():
                targets.append(corrective)
                at[corrective.name] = tuple(stances[number].name for number in sorted(bend.angles))
    targets.sort(key=lambda one: -float(one.lengths.max()))
    words = tuple(
        Corrected(one.name, skeleton.names[one.driver.joint], at[one.name], float(one.lengths.max()),
                  int((one.lengths > 0).sum()))
        for one in targets
    )  # fmt: skip
    return Corrections(replace(fit, correctives=tuple(targets)), words, tuple(told))


class _Batch:
    """Bends that are solved for together: one displacement, shared out among their targets."""

    def __init__(
        self, case: StanceCase, bends: Sequence[StrongBend], stances: Sequence[Stance], others: Sequence[Stance]
    ) -> None:
        assert case.fit.body.skeleton is not None
        self.case, self.fit = case, case.fit
        skeleton = case.fit.body.skeleton
        self.shares = shares_of(bends, skeleton, case.fit.base, blur=BLUR)
        self.drivers = [driver_of(bend, skeleton, others) for bend in bends]
        taken = [one.name for one in case.fit.correctives] + list(case.fit.morph_names)
        self.names: list[str] = []
        for bend in bends:
            self.names.append(_name(NAME + skeleton.names[bend.joint], [*taken, *self.names]))
        start = linear_cloth(case.fit)
        self.planes = [StancePlanes(case.posed_at(one), start, ROOM, too_deep=TOO_DEEP) for one in stances]
        values = [[driver.at(skeleton, stance.worlds) for driver in self.drivers] for stance in stances]
        self.at_work = np.array(values) @ self.shares
        """How much of the displacement each vertex gets at each stance, (S, G)."""
        places = np.concatenate([bend_places(bend, skeleton) for bend in bends])
        self.near = cKDTree(places).query(case.fit.base)[0] < NEAR
        self.corners: list[list[Weights]] = []

    def targets(self, moves: Float[np.ndarray, "G 3"]) -> list[Corrective]:
        """The displacement shared out."""
        return [
            Corrective(name, driver, sparse(share[:, None] * moves))
            for name, driver, share in zip(self.names, self.drivers, self.shares)
        ]

    def stand(self, moves: Float[np.ndarray, "G 3"]) -> "_Stand":
        """How the cloth stands at each stance with a displacement."""
        states = [
            plane.stand(replace(self.fit, base=self.fit.base + work[:, None] * moves))
            for plane, work in zip(self.planes, self.at_work)
        ]
        demands, under = [], 0.0
        for index, (plane, state, work) in enumerate(zip(self.planes, states, self.at_work), start=1):
            near = np.flatnonzero(self.near & (work > AT_WORK))
            room = plane.room(near)
            if index > len(self.corners):
                self.corners.append(threatening_corners(plane.pair, state.cloth, near))
            for number, corner in enumerate(self.corners[index - 1]):
                rows, depths = demands_on(plane.pair, plane.posed_start, state.cloth, corner, near, room)
                demands.append((_scaled(rows, work), STRIDE * index + CORNER * (number + 1) + rows.vertex))
                under += float(depths.sum())
        return _Stand(states, demands, under)

    def solved(
        self, energy: csr_array, mass: Float[np.ndarray, " G"], progress: Callable[[int, int], None] | None
    ) -> tuple[Float[np.ndarray, "G 3"], list[CorrectedStance]]:
        """The least displacement that clears the stances, and how they stood and stand."""
        moves = best = np.zeros_like(self.fit.base)
        now = first = end = self.stand(moves)
        last, idle, known = None, 0, np.zeros(0, dtype=np.int64)
        for number in range(1, MOST_ROUNDS + 1):
            if now.short == 0 or idle >= PATIENCE:
                break
            rows, keys = self._rows(now, known, last)
            last = solve(
                energy, mass, rows, np.zeros(0), np.zeros(0), cap=CAP, max_steps=MOST_STEPS,
                start=_warm(last, known, keys),
            )  # fmt: skip
            known = keys
            moves = sparse(last.moves[:, 0])
            now = self.stand(moves)
            idle = 0 if now.short < GAINING * end.short else idle + 1
            if now.short < end.short:
                best, end = moves, now
            if progress is not None:
                progress(number, sum(len(one.pairs) for one in now.states))
        told = [
            CorrectedStance(plane.pair.stance.name, a.count, a.deepest, b.count, b.deepest)
            for plane, a, b in zip(self.planes, first.states, end.states)
        ]
        return best, told

    def _rows(
        self, now: "_Stand", known: Int[np.ndarray, " K"], last: Solution | None
    ) -> tuple[Constraints, Int[np.ndarray, " R"]]:
        """Demands of all stances on the displacement, morphs at their least over the range, and their keys."""
        box, priced = self.case.box, known[:0] if last is None else known[last.multipliers > 0]
        parts = list(now.demands)
        for index, (plane, state, work) in enumerate(zip(self.planes, now.states, self.at_work), start=1):
            rows, keys, _ = plane.planes(state, priced[priced // STRIDE == index] % STRIDE)
            able = work[rows.vertex] > AT_WORK
            least = box.minimum(rows.terms[:, 0], rows.terms[:, 1:].T)
            one = Constraints(rows.vertex[able], rows.direction[able], least[able, None], rows.needed[able])
            parts.append((_scaled(one, work), keys[able] + STRIDE * index))
        return both(*parts)


@dataclass(frozen=True, eq=False)
class _Stand:
    """How the cloth stands at all stances of a batch, and what single shapes ask of its displacement."""

    states: list[StanceState]
    demands: list[tuple[Constraints, Int[np.ndarray, " _"]]]
    under: float

    @property
    def short(self) -> float:
        """By how much all falls short, summed, metres."""
        return sum(one.short for one in self.states) + self.under


def _scaled(rows: Constraints, work: Float[np.ndarray, " G"]) -> Constraints:
    """Demands on what a stance gets of a displacement, as demands on the whole of it."""
    value = work[rows.vertex]
    return Constraints(rows.vertex, rows.direction, rows.terms / value[:, None], rows.needed / value)


def sparse(moves: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, "G 3"]:
    """Displacements shortened by `SPARSE`; what is shorter is 0, (G, 3). The proximal step of Σ ‖C_v‖."""
    lengths = np.linalg.norm(moves, axis=1, keepdims=True)
    return moves * np.maximum(1.0 - SPARSE / np.maximum(lengths, 1e-30), 0.0)


def _warm(
    last: Solution | None, known: Int[np.ndarray, " K"], keys: Int[np.ndarray, " R"]
) -> tuple[Float[np.ndarray, "G 1 3"], Float[np.ndarray, "R 1 3"]] | None:
    """Moves so far, and the forces of those demands that were there before."""
    if last is None:
        return None
    forces = np.zeros((len(keys), 1, 3))
    _, old, new = np.intersect1d(known, keys, assume_unique=True, return_indices=True)
    forces[new] = last.forces[old]
    return last.moves, forces


def _name(wanted: str, taken: Sequence[str]) -> str:
    """The name, with a number behind it where it is taken."""
    name, number = wanted, 1
    while name in taken:
        number += 1
        name = f"{wanted} {number}"
    return name
