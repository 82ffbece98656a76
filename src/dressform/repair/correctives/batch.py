"""Bends that are solved for together: one displacement where the bend has taken the cloth, in rounds."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array
from scipy.spatial import cKDTree

from dressform.body.stance import Stance
from dressform.fit.corrective import Corrective
from dressform.proof.at_stance import PosedPair, StanceCase
from dressform.proof.linear_mesh import linear_cloth
from dressform.repair.clear.clearance_case import KEPT_SHARE, both
from dressform.repair.clear.programme import Constraints, Solution, solve
from dressform.repair.clear.stance_planes import ROOM, StancePlanes
from dressform.repair.correctives.bends import StrongBend, bend_places, driver_of, shares_of
from dressform.repair.correctives.shape_demands import ASKED_MORE, ShapeDemands
from dressform.repair.correctives.shapes_asked import Shortage

MOST_ROUNDS = 12
GAINING = 0.9
"""Rounds go on while each brings what falls short below this share of the least before."""
PATIENCE = 3
"""Rounds without gain after which what still falls short is left and told."""
JUDGED = 4
"""Of so many last rounds the best is taken, judged on all shapes that were found."""
PROVING, PAIR_DEEP = 6, 0.010
"""Where all shapes looked at are clear, so many rounds bring the proof, by pairs that fall short by less than this."""
CAP = 5.0
"""A demand gives way if its pull would move its vertex alone farther than this, metres."""
KEPT_CAP = 50.0
"""So does one that asks for no more than what was there before the target, but later: what was clear stays clear."""
MOST_STEPS = 300
BLUR = 0.01
"""Between two bends the displacement passes from one target to the other over about this length, metres."""
SPARSE = 2e-5
"""Every displacement is shortened by this, and what is shorter vanishes: most of the cloth is in no target, metres."""
STRIDE, SHAPE = 2**46, 2**38
"""Keys of one stance's demands lie in an interval of the one length, those of one shape there in one of the other."""
AT_WORK = 1e-3
"""What a stance gets less of than this share of is not asked for."""
NEAR = 0.3
"""Cloth farther from the joints of a bend is not looked at, metres."""
FLATTEST = 0.2
"""A bend that presses cloth flatter than this is undone as if it pressed it to this: no target becomes longer than five
times what it does at the bend."""
NAME = "corrective "
"""Names of targets begin with this; the name of the joint follows."""


@dataclass(frozen=True, eq=False)
class CorrectedStance:
    """How the cloth stood at a stance before its targets and with them, on the shapes looked at.

    Attributes:
        stance: Its name.
        short_before: Vertices of the cloth under their own skin, and of skin before its cloth, summed over the shapes.
        depth_before: The most that any fell short, metres.
        short_after: How many do now.
        depth_after: The most that any does, metres.
    """

    stance: str
    short_before: int
    depth_before: float
    short_after: int
    depth_after: float


class BendBatch:
    """Bends that some stance has at once: one displacement, shared out among their targets.

    Unknown is what the target does where the bend has taken the cloth, d, not what it is in the modelled pose,
    C = A⁻¹ d: the blend A turns, and presses the limb flat. What is smooth and small at the bend is what is seen there;
    the same energy on C asks for 20 cm where 2 cm do.

    Args:
        case: The fit, with the targets of earlier batches.
        bends: The bends.
        stances: The stances that have some of them.
        others: All other stances.
    """

    def __init__(
        self, case: StanceCase, bends: Sequence[StrongBend], stances: Sequence[Stance], others: Sequence[Stance]
    ) -> None:
        assert case.fit.body.skeleton is not None
        self.fit, skeleton = case.fit, case.fit.body.skeleton
        self.shares = shares_of(bends, skeleton, case.fit.base, blur=BLUR)
        self.drivers = [driver_of(bend, skeleton, others) for bend in bends]
        taken = [one.name for one in case.fit.correctives] + list(case.fit.morph_names)
        self.names: list[str] = []
        for bend in bends:
            self.names.append(_name(NAME + skeleton.names[bend.joint], [*taken, *self.names]))
        pairs = [case.posed_at(one) for one in stances]
        values = [[driver.at(skeleton, stance.worlds) for driver in self.drivers] for stance in stances]
        self.at_work = np.array(values) @ self.shares
        """How much of the displacement each vertex gets at each stance, (S, G)."""
        angles = [[driver.twist(skeleton, one.worlds)[0] for one in stances] for driver in self.drivers]
        self.frames = pulled_back(self.shares, [pairs[full] for full in np.argmax(angles, axis=1)])
        places = np.concatenate([bend_places(bend, skeleton) for bend in bends])
        near = cKDTree(places).query(case.fit.base)[0] < NEAR
        self.shapes = [
            ShapeDemands(pair, pair.cloth, np.flatnonzero(near & (work > AT_WORK)), _room(pair))
            for pair, work in zip(pairs, self.at_work)
        ]

    def targets(self, moves: Float[np.ndarray, "G 3"]) -> list[Corrective]:
        """The displacement shared out, as it is in the modelled pose."""
        at_rest = self._at_rest(moves)
        return [
            Corrective(name, driver, share[:, None] * at_rest)
            for name, driver, share in zip(self.names, self.drivers, self.shares)
        ]

    def solved(
        self, energy: csr_array, mass: Float[np.ndarray, " G"], progress: Callable[[int, int], None] | None
    ) -> tuple[Float[np.ndarray, "G 3"], list[CorrectedStance]]:
        """The least displacement that clears the stances, and how they stood and stand."""
        none = np.zeros_like(self.fit.base)
        rows, keys, now = self._asked(none)
        tried, last, idle, known, least, looked = [none], None, 0, keys[:0], _total(now), self._looked
        for number in range(1, MOST_ROUNDS + 1):
            if _total(now) == 0.0 or idle >= PATIENCE:
                break
            last = solve(
                energy, mass, rows, np.zeros(0), np.zeros(0), cap=caps_of(rows), max_steps=MOST_STEPS,
                start=_warm(last, known, keys),
            )  # fmt: skip
            known = keys
            tried.append(sparse(last.moves[:, 0]))
            rows, keys, now = self._asked(tried[-1])
            gains = self._looked > looked or _total(now) < GAINING * least
            idle, looked = 0 if gains else idle + 1, self._looked
            least = min(least, _total(now)) if gains else least
            if progress is not None:
                progress(number, sum(one.count for one in now))
        stood = [self._asked(moves)[2] for moves in (none, *tried[1:][-JUDGED:])]  # on all shapes that were found
        best = int(np.argmin([_total(one) for one in stood]))
        first, end, moves = stood[0], stood[best], (none, *tried[1:][-JUDGED:])[best]
        if _total(end) == 0.0 and known.size:
            assert last is not None
            moves = self._proven(energy, mass, moves, (last, known))
        told = [
            CorrectedStance(shapes.pair.stance.name, a.count, a.deepest, b.count, b.deepest)
            for shapes, a, b in zip(self.shapes, first, end)
        ]
        return moves, told

    def _proven(
        self,
        energy: csr_array,
        mass: Float[np.ndarray, " G"],
        moves: Float[np.ndarray, "G 3"],
        last: tuple[Solution, Int[np.ndarray, " K"]],
    ) -> Float[np.ndarray, "G 3"]:
        """A displacement that clears all shapes looked at, moved on until the proof holds between them, too.

        Pairs of the proof ask beside the shapes. What brings no pair nearer to it is not taken.
        """
        start = linear_cloth(self.fit)
        planes = [StancePlanes(one.pair, start, ROOM, too_deep=PAIR_DEEP) for one in self.shapes]
        best, least, (found, known) = moves, np.inf, last
        for number in range(PROVING + 1):
            states = [
                plane.stand(replace(self.fit, base=self.fit.base + work[:, None] * self._at_rest(moves)))
                for plane, work in zip(planes, self.at_work)
            ]
            rows, keys, now = self._asked(moves)
            short = sum(one.short for one in states)
            if short < least and _total(now) == 0.0:
                best, least = moves, short
            if least == 0.0 or number == PROVING:
                break
            parts = [(rows, keys)]
            for index, (plane, state, work) in enumerate(zip(planes, states, self.at_work), start=len(planes)):
                priced = known[found.multipliers > 0]
                one, own, _ = plane.planes(state, priced[priced // STRIDE == index] % STRIDE)
                able = work[one.vertex] > AT_WORK
                least_terms = plane.pair.case.box.minimum(one.terms[:, 0], one.terms[:, 1:].T)
                one = Constraints(one.vertex[able], one.direction[able], least_terms[able, None], one.needed[able])
                parts.append((self._scaled(one, work), STRIDE * index + own[able]))
            rows, keys = both(*parts)
            found = solve(
                energy, mass, rows, np.zeros(0), np.zeros(0), cap=caps_of(rows), max_steps=MOST_STEPS,
                start=_warm(found, known, keys),
            )  # fmt: skip
            known, moves = keys, sparse(found.moves[:, 0])
        return best

    @property
    def _looked(self) -> int:
        """Shapes looked at."""
        return sum(len(one.shapes) for one in self.shapes)

    def _asked(self, moves: Float[np.ndarray, "G 3"]) -> tuple[Constraints, Int[np.ndarray, " R"], list[Shortage]]:
        """What single shapes ask of the displacement, the keys of these demands, and what falls short by stance."""
        parts, told, at_rest = [], [], self._at_rest(moves)
        for index, (shapes, work) in enumerate(zip(self.shapes, self.at_work)):
            cloth = shapes.pair.carried(linear_cloth(replace(self.fit, base=self.fit.base + work[:, None] * at_rest)))
            shapes.look(cloth)
            found, short = shapes.demands(cloth)
            lost = 0.0
            for number, (rows, keys) in enumerate(found):
                asked = self._scaled(rows, work)
                lost += lost_of(asked, moves)
                parts.append((asked, STRIDE * index + SHAPE * number + keys))
            told.append(replace(short, lost=lost))
        rows, keys = both(*parts)
        return rows, keys, told

    def _at_rest(self, moves: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, "G 3"]:
        """Displacements at the bend as such of the modelled pose."""
        return np.einsum("gij,gj->gi", self.frames, moves)

    def _scaled(self, rows: Constraints, work: Float[np.ndarray, " G"]) -> Constraints:
        """Demands on what a stance gets of a displacement of the modelled pose, as demands on the unknown."""
        back = np.einsum("rij,ri->rj", self.frames[rows.vertex], rows.direction)
        length = np.linalg.norm(back, axis=1)
        value = work[rows.vertex] * length
        return Constraints(rows.vertex, back / length[:, None], rows.terms / value[:, None], rows.needed / value)


def pulled_back(shares: Float[np.ndarray, "N G"], pairs: Sequence[PosedPair]) -> Float[np.ndarray, "G 3 3"]:
    """What takes a displacement at the bend to one of the modelled pose, A⁻¹ with no factor above 1 / `FLATTEST`.

    Args:
        shares: How much of a displacement each bend takes.
        pairs: Cloth and body where each bends farthest.
    """
    maps = np.einsum("ng,ngij->gij", shares, np.stack([pair.maps[:, :, :3] for pair in pairs]))
    left, sizes, right = np.linalg.svd(maps)
    return np.einsum("gji,gj,gkj->gik", right, 1.0 / np.maximum(sizes, FLATTEST), left)


def caps_of(rows: Constraints) -> Float[np.ndarray, " R"]:
    """The largest pull of each demand, (R,), metres: larger where no displacement at all would do."""
    return np.where(kept_by(rows), KEPT_CAP, CAP)


def lost_of(rows: Constraints, moves: Float[np.ndarray, "G 3"]) -> float:
    """By how much a displacement falls short of demands that none at all would meet, summed, metres."""
    kept = kept_by(rows)
    got = rows.terms[kept, 0] + np.einsum("rx,rx->r", rows.direction[kept], moves[rows.vertex[kept]])
    return float(np.maximum(rows.needed[kept] - ASKED_MORE - got, 0.0).sum())


def kept_by(rows: Constraints) -> Bool[np.ndarray, " R"]:
    """Which demands the cloth meets without any displacement, (R,)."""
    return rows.terms[:, 0] >= rows.needed


def sparse(moves: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, "G 3"]:
    """Displacements shortened by `SPARSE`; what is shorter is 0, (G, 3). The proximal step of Σ ‖C_v‖."""
    lengths = np.linalg.norm(moves, axis=1, keepdims=True)
    return moves * np.maximum(1.0 - SPARSE / np.maximum(lengths, 1e-30), 0.0)


def _room(pair: PosedPair) -> Float[np.ndarray, " G"]:
    """What each vertex must keep from its own skin, (G,), metres: never more than a share of what it has at rest."""
    return np.minimum(ROOM, KEPT_SHARE * np.maximum(pair.case.feet.clearance, 0.0)) + pair.slack


def _total(told: Sequence[Shortage]) -> float:
    return sum(one.priced for one in told)


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
